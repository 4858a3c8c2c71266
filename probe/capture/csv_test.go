package capture

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/probe/reading"
)

const kilnRow = "2026-05-04T09:30:00Z,120/208Y,120.1,12.3,1450,368.25,119.8,,-0.9,lag,TRUE,208.1,\"three, elements\",12.5"

const kilnHeader = "at,service,voltage.1,current.1,power.1,angle.1,voltage.2,current.2,pf.2,pf_sign.2,reactive_unsigned.2,line_voltage.12,model,skew_ms"

func TestCSVSaysTheSame(t *testing.T) {
	for name, text := range map[string]string{
		"as it is":               kilnHeader + "\n" + kilnRow + "\n",
		"without a last newline": kilnHeader + "\n" + kilnRow,
		"from a spreadsheet":     "\xEF\xBB\xBF" + kilnHeader + "\r\n\r\n" + kilnRow + "\r\n",
		"with blanks":            " at , service" + kilnHeader[len("at,service"):] + "\n " + kilnRow[:20] + " , " + kilnRow[21:] + "\n",
	} {
		t.Run(name, func(t *testing.T) {
			all, err := collect(text)
			require.NoError(t, err)
			require.Len(t, all, 1)
			r := all[0]
			require.Equal(t, time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC), r.At)
			require.Equal(t, "120/208Y", r.Service)
			require.Equal(t, reading.Known(reading.Angle(8.25)), r.Channels[0].Angle)
			require.Equal(t, reading.SignTellsLagging, r.Channels[1].PowerFactorSign)
			require.True(t, r.Channels[1].ReactiveUnsigned)
			require.False(t, r.Channels[1].Current.Known())
			require.Equal(t, reading.Known(208.1), r.LineVoltages[0])
			require.Equal(t, "three, elements", r.Model)
			require.Equal(t, 12500*time.Microsecond, r.Skew)
		})
	}
}

func TestBadCSVSaysWhere(t *testing.T) {
	const row = "2026-05-04T09:30:00Z"
	tests := []struct{ name, text, want string }{
		{"not a capture", "hello\n", "f:1: column \"hello\" is not a point; a header has `at` and points such as voltage.1"},
		{"a form feed alone", "\f", "f:1: column \"\" is not a point; a header has `at` and points such as voltage.1"},
		{"no header", row + ",120\n", "f:1: column \"2026-05-04T09:30:00Z\" is not a point; a header has `at` and points such as voltage.1"},
		{"no readings", "at,power.1\n", "f: there are no readings in it; save one with `legwork read METER --save FILE`"},
		{"no channels", "at,frequency\n", "f:1: this is neither a line of JSON nor a CSV header with `at` and points such as voltage.1"},
		{"no time", "power.1\n", "f:1: this is neither a line of JSON nor a CSV header with `at` and points such as voltage.1"},
		{"semicolons", "at;power.1\n", "f:1: its columns are parted by semicolons; save it with commas, and with points in the numbers"},
		{"a name that is near", "at,volts.1\n", `f:1: column "volts.1" is not a point; did you mean voltage.1?`},
		{"a channel that isn't", "at,power.4\n", `f:1: column "power.4": channels are 1, 2 and 3, not "4"; did you mean power.1?`},
		{"a sign without a channel", "at,power.1,pf_sign\n", `f:1: column "pf_sign" is not a point; did you mean pf_sign.1?`},
		{"a column twice", "at,power.1, power.1\n", `f:1: column "power.1" stands twice`},
		{"a short row", "at,power.1\n" + row + "\n", "f:2: the line ends too early, after 1 of 2 columns"},
		{"a long row", "at,power.1\n" + row + ",1,2\n", "f:2: 3 fields, but the header has 2 columns"},
		{"a decimal comma", "at,power.1\n" + row + ",1,5\n", "f:2: 3 fields, but the header has 2 columns"},
		{"NaN", "at,power.1\n" + row + ",NaN\n", `f:2: power.1: "NaN" is not a number; leave the field empty where a value isn't known`},
		{"another base", "at,power.1\n" + row + ",0x10\n", `f:2: power.1: "0x10" is not a number; leave the field empty where a value isn't known`},
		{"signs without digits", "at,power.1\n" + row + ",+-\n", `f:2: power.1: "+-" is not a number; leave the field empty where a value isn't known`},
		{"too large", "at,power.1\n" + row + ",1e999\n", `f:2: power.1: 1e999 is too large`},
		{"a unit", "at,power.1\n" + row + ",1 kW\n", `f:2: power.1: "1 kW" is not a number; leave the field empty where a value isn't known`},
		{"a bad time", "at,power.1\n\nyesterday,1\n", `f:3: at: "yesterday" is not a time such as 2026-05-04T09:30:00Z`},
		{"no time in a row", "at,power.1\n,1\n", "f:2: the reading has no time; give `at`, such as 2026-05-04T09:30:00Z"},
		{"time goes back", "at,power.1\n" + row + ",1\n2026-05-04T09:29:00Z,1\n",
			"f:3: its time 2026-05-04T09:29:00Z is before that of the reading above; a capture is of one meter, in order of time"},
		{"a bad sign", "at,pf.1,pf_sign.1\n" + row + ",1,yes\n", `f:2: pf_sign.1: "yes" is not one of power, lag, none`},
		{"neither true nor false", "at,pf.1,reactive_unsigned.1\n" + row + ",1,yes\n", `f:2: reactive_unsigned.1: "yes" is not true or false`},
		{"a skew below zero", "at,pf.1,skew_ms\n" + row + ",1,-1\n", `f:2: skew_ms: -1 ms can't lie between the answers of one reading`},
		{"a quote that stays open", "at,model,pf.1\n" + row + ",\"x,1\n", "f:2: not CSV: a quote stays open, the line ends too early"},
		{"a quote in the middle", "at,model,pf.1\n" + row + ",x\"y\",1\n", "f:2: not CSV: a quote stands where none may, at byte 23"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			_, err := collect(test.text)
			require.EqualError(t, err, test.want)
		})
	}
}

// A row is known to be cut when columns are missing; within its last column it
// can't be told.
func TestCutCSV(t *testing.T) {
	for cut := 1; cut < len(kilnRow)-len(",12.5"); cut++ {
		all, err := collect(kilnHeader + "\n" + kilnRow + "\n" + kilnRow[:cut])
		require.ErrorIs(t, err, ErrCut, kilnRow[:cut])
		require.Len(t, all, 1)
	}
}
