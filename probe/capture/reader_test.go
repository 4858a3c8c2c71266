package capture

import (
	"errors"
	"io"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/probe/reading"
)

const kilnLine = `{"at":"2026-05-04T09:30:00Z","service":"120/208Y","channels":[{"voltage":120.1,"current":12.3,"power":1450.0,"reactive":210.0,"angle":8.2,"voltage_angle":0.0},{"voltage":119.8,"current":null}],"frequency":60.0}`

// at is kilnLine at another time of the day.
func at(clock string) string { return strings.Replace(kilnLine, "09:30:00", clock, 1) }

// collect reads a capture to its end or its first error.
func collect(text string) ([]reading.Reading, error) {
	c, err := NewReader("f", strings.NewReader(text))
	if err != nil {
		return nil, err
	}
	var all []reading.Reading
	for {
		r, err := c.Next()
		if errors.Is(err, io.EOF) {
			return all, nil
		}
		if err != nil {
			return all, err
		}
		all = append(all, r)
	}
}

func TestCaptureOfTheREADME(t *testing.T) {
	for name, text := range map[string]string{
		"as it is":                kilnLine + "\n" + kilnLine + "\n",
		"without a last newline":  kilnLine + "\n" + kilnLine,
		"from Windows":            "\xEF\xBB\xBF" + kilnLine + "\r\n" + kilnLine + "\r\n",
		"with blank lines":        "\n \t\n" + kilnLine + "\n\n" + kilnLine + "\n\n",
		"with blanks everywhere":  strings.NewReplacer(":", " : ", ",", " ,\t", "[", "[ ", "}", " }").Replace(strings.ReplaceAll(kilnLine, "09:30:00Z", "T")) + "\n",
		"with names out of order": `{"channels":[{"angle":8.2,"power":1450,"voltage":120.1},{}],"frequency":6e1,"service":"120/208Y","at":"2026-05-04T09:30:00Z"}`,
	} {
		t.Run(name, func(t *testing.T) {
			if name == "with blanks everywhere" {
				text = strings.Replace(text, "2026-05-04TT", "2026-05-04T09:30:00Z", 1)
			}
			all, err := collect(text)
			require.NoError(t, err)
			r := all[0]
			require.Equal(t, time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC), r.At)
			require.Equal(t, "120/208Y", r.Service)
			require.Equal(t, reading.Known(1450.0), r.Channels[0].Power)
			require.Equal(t, reading.Known(reading.Angle(8.2)), r.Channels[0].Angle)
			require.False(t, r.Channels[1].Current.Known(), "null is unknown")
			require.False(t, r.Channels[1].Angle.Known(), "absent is unknown")
			require.Equal(t, reading.Known(60.0), r.Frequency)
		})
	}
}

func TestEveryNameOfACapture(t *testing.T) {
	all, err := collect(`{"at":"2026-05-04T09:30:00.25-05:00","service":null,"channels":[{"voltage":1,"current":2,"power":-3,"reactive":4,"apparent":5,` +
		`"pf":-0.6,"pf_sign":"lag","reactive_unsigned":true,"angle":270,"voltage_angle":-540,"current_angle":7,"energy_import":8,"energy_export":9},` +
		`{"pf_sign":"power","reactive_unsigned":false},{"pf_sign":null,"reactive_unsigned":null}],"line_voltage":{"12":12,"23":23,"31":31},"frequency":10,` +
		`"total_power":11,"total_reactive":12,"total_energy_import":13,"total_energy_export":14,"total_apparent_energy":15,"ct_primary":16,` +
		`"neutral_current":17,"serial":"A \u0031\t\u00e9é","model":null,"skew_ms":18.5}`)
	require.NoError(t, err)
	r := all[0]
	require.Equal(t, 250*time.Millisecond, r.At.Sub(time.Date(2026, 5, 4, 14, 30, 0, 0, time.UTC)))
	require.Equal(t, reading.Known(reading.Angle(-90)), r.Channels[0].Angle, "wrapped")
	require.Equal(t, reading.Known(reading.Angle(180)), r.Channels[0].VoltageAngle, "wrapped")
	require.Equal(t, reading.SignTellsLagging, r.Channels[0].PowerFactorSign)
	require.Equal(t, reading.SignTellsPower, r.Channels[1].PowerFactorSign)
	require.Equal(t, reading.SignTellsNothing, r.Channels[2].PowerFactorSign)
	require.True(t, r.Channels[0].ReactiveUnsigned)
	require.Equal(t, "A 1\téé", r.Serial)
	require.Empty(t, r.Model)
	require.Equal(t, 18500*time.Microsecond, r.Skew)
	for _, p := range reading.Points() {
		if p.Channel() <= 1 && !p.Quantity.IsText() {
			require.True(t, r.Number(p).Known(), p)
		}
	}
	require.Equal(t, [3]reading.Value{reading.Known(12.0), reading.Known(23.0), reading.Known(31.0)}, r.LineVoltages)
}

// line is a reading with one channel that holds something else.
func line(channel string) string {
	return `{"at":"2026-05-04T09:30:00Z","channels":[{` + channel + `}]}` + "\n"
}

func TestBadCapturesSayWhere(t *testing.T) {
	const empty = "f: there are no readings in it; save one with `legwork read METER --save FILE`"
	tests := []struct{ name, text, want string }{
		{"empty", "", empty},
		{"only blanks", "\n \n", empty},
		{"only a byte order mark", "\xEF\xBB\xBF", empty},
		{"UTF-16", "\xFF\xFE{\x00", "f: this is UTF-16; save it as UTF-8"},
		{"a list of readings", "[" + kilnLine + "]", "f:1: this is a list in JSON; a capture has one reading a line, without the [ ] and commas between them"},
		{"a line in the middle ends early", kilnLine + "\n{\"at\":\n" + kilnLine + "\n", "f:2: not JSON: the line ends too early"},
		{"a line in the middle is none", kilnLine + "\nhello\n", "f:2: hello is not an object in { }"},
		{"blank lines count", "\n\n" + kilnLine + "\n\nhello\n", "f:5: hello is not an object in { }"},
		{"no comma", `{"at":"2026-05-04T09:30:00Z" "channels":[]}`, "f:1: not JSON: } or , should stand at byte 30"},
		{"a comma too many", `{"at":"2026-05-04T09:30:00Z",}`, "f:1: not JSON: a name should stand at byte 30"},
		{"no colon", `{"at" 5}`, "f:1: not JSON: : should stand at byte 7"},
		{"no name", `{5:6}`, "f:1: not JSON: a name should stand at byte 2"},
		{"a bad escape", `{"a\q":6}`, "f:1: not JSON: a text holds an escape or a character that may not stand there"},
		{"two on a line", kilnLine + kilnLine + "\n", "f:1: something stands after the reading; write one reading a line"},
		{"unknown name", `{"at":"2026-05-04T09:30:00Z","chanels":[]}`, `f:1: "chanels" is not known here; did you mean channels?`},
		{"unknown name of a channel", line(`"curent":1`), `f:1: "curent" is not known here; did you mean current?`},
		{"unlike any name", line(`"x":1`), `f:1: "x" is not known here`},
		{"a name of the whole meter", line(`"frequency":1`), `f:1: "frequency" is not known here`},
		{"an unknown pair", `{"at":"2026-05-04T09:30:00Z","line_voltage":{"13":1}}`, `f:1: "13" is not known here; did you mean 12, 23 or 31?`},
		{"a name twice", line(`"power":1,"power":2`), `f:1: "power" stands twice`},
		{"text for watts", line(`"power":"1 kW"`), `f:1: channel 1: power: "1 kW" is not a number`},
		{"true for watts", line(`"power":true`), `f:1: channel 1: power: true is not a number`},
		{"NaN", line(`"power":NaN`), `f:1: channel 1: power: NaN is not a number`},
		{"Infinity", line(`"power":-Infinity`), `f:1: channel 1: power: - is not a number`},
		{"a leading zero", line(`"power":007`), `f:1: channel 1: power: 007 is not a number`},
		{"a plus", line(`"power":+7`), `f:1: channel 1: power: +7 is not a number`},
		{"no digit behind the point", line(`"power":7.`), `f:1: channel 1: power: 7. is not a number`},
		{"no digit in the exponent", line(`"power":7e`), `f:1: channel 1: power: 7e is not a number`},
		{"too large", line(`"power":1e999`), `f:1: channel 1: power: 1e999 is too large`},
		{"a number for a text", `{"at":5}`, `f:1: at: 5 is not a text in quotes`},
		{"a text for yes or no", line(`"reactive_unsigned":"yes"`), `f:1: channel 1: reactive_unsigned: "yes" is not true or false`},
		{"a sign that is none", line(`"pf_sign":"yes"`), `f:1: channel 1: pf_sign: "yes" is not one of power, lag, none`},
		{"a number for a channel", `{"channels":[5]}`, `f:1: channel 1: 5 is not an object in { }`},
		{"a number for channels", `{"channels":5}`, `f:1: channels: 5 is not a list in [ ]`},
		{"no time", `{"channels":[{"power":1}]}`, "f:1: the reading has no time; give `at`, such as 2026-05-04T09:30:00Z"},
		{"a null for a time", `{"at":null,"channels":[{"power":1}]}`, "f:1: the reading has no time; give `at`, such as 2026-05-04T09:30:00Z"},
		{"no time that can be read", `{"at":"yesterday","channels":[{"power":1}]}`, `f:1: at: "yesterday" is not a time such as 2026-05-04T09:30:00Z`},
		{"no channels", `{"at":"2026-05-04T09:30:00Z","channels":[]}`, "f:1: the reading has no channels"},
		{"four channels", `{"at":"2026-05-04T09:30:00Z","channels":[{},{},{},{}]}`, "f:1: channels: a meter of this kind has at most 3"},
		{"time goes back", kilnLine + "\n" + at("09:29:59.5") + "\n",
			"f:2: its time 2026-05-04T09:29:59.5Z is before that of the reading above; a capture is of one meter, in order of time"},
		{"a skew of days", `{"at":"2026-05-04T09:30:00Z","channels":[{}],"skew_ms":1e12}`, "f:1: skew_ms: 1e+12 ms can't lie between the answers of one reading"},
		{"a very long line", kilnLine + "\n" + `{"at":"` + strings.Repeat("x", 2<<20), "f:2: a line is longer than 1048576 bytes; is this a capture?"},
		{"bytes that a terminal would obey", "{\"\x1b[2J\xff\":1}", `f:1: not JSON: a text holds an escape or a character that may not stand there`},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			_, err := collect(test.text)
			require.EqualError(t, err, test.want)
		})
	}
}

// A line of 100 KiB is longer than the reader's buffer and still a line.
func TestLongLine(t *testing.T) {
	all, err := collect(strings.Replace(kilnLine, "{", "{"+strings.Repeat(" ", 100<<10), 1) + "\n" + kilnLine)
	require.NoError(t, err)
	require.Len(t, all, 2)
}

// Whatever byte the power went at, the readings before are given, and the line
// that it cut is told apart from one that is wrong.
func TestCutCaptureGivesTheGoodOnesFirst(t *testing.T) {
	for cut := 1; cut < len(kilnLine); cut++ {
		all, err := collect(kilnLine + "\n" + kilnLine + "\n" + kilnLine[:cut])
		require.ErrorIs(t, err, ErrCut, kilnLine[:cut])
		require.EqualError(t, err, "f:3: the last line was cut off; the 2 before it are good: take it out to use them")
		require.Len(t, all, 2)
	}
	_, err := collect(kilnLine + "\n" + kilnLine[:50] + strings.Repeat("\x00", 4096))
	require.ErrorIs(t, err, ErrCut, "some file systems fill up with zeros")
	_, err = collect(kilnLine + "\n" + strings.Repeat("\x00", 4096))
	require.ErrorIs(t, err, ErrCut)
	_, err = collect(kilnLine + "\n" + `{"at":5}`)
	require.NotErrorIs(t, err, ErrCut, "wrong, not cut")
}

func TestChannelsThatChangeAreTold(t *testing.T) {
	c, err := NewReader("f", strings.NewReader(kilnLine+"\n"+line("")+kilnLine))
	require.NoError(t, err)
	for range 3 {
		_, err := c.Next()
		require.NoError(t, err)
	}
	fewest, most := c.Channels()
	require.Equal(t, []int{1, 2}, []int{fewest, most})
}

// Each reading is the caller's: the next one leaves it alone.
func TestReadingsAreKept(t *testing.T) {
	all, err := collect(kilnLine + "\n" + strings.ReplaceAll(kilnLine, "120", "347"))
	require.NoError(t, err)
	require.Equal(t, "120/208Y", all[0].Service)
	require.Equal(t, "347/208Y", all[1].Service)
	require.Equal(t, reading.Known(120.1), all[0].Channels[0].Voltage)
}

func TestReaderThatFails(t *testing.T) {
	broken := errors.New("the disk is gone")
	_, err := NewReader("f", iotest.ErrReader(broken))
	require.ErrorIs(t, err, broken)
	c, err := NewReader("f", io.MultiReader(strings.NewReader(kilnLine+"\n"), iotest.ErrReader(broken)))
	require.NoError(t, err)
	_, err = c.Next()
	require.NoError(t, err)
	_, err = c.Next()
	require.EqualError(t, err, "f:2: the disk is gone")
}
