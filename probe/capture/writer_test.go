package capture

import (
	"bytes"
	"errors"
	"io"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"legwork/probe/reading"
)

// writer is what both ways to save have in common.
type writer interface{ Write(reading.Reading) error }

var writers = map[string]func(io.Writer) writer{
	"JSON Lines": func(w io.Writer) writer { return NewWriter(w) },
	"CSV":        func(w io.Writer) writer { return NewCSVWriter(w) },
}

// drawReading makes a reading with some quantities unknown.
func drawReading(t *rapid.T, channels int, at time.Time) reading.Reading {
	r := reading.Reading{At: at, Service: rapid.SampledFrom([]string{"", "120/240", "äöü"}).Draw(t, "service")}
	r.Channels = make([]reading.Channel, channels)
	for _, p := range reading.Points() {
		if p.Quantity.IsText() {
			r.SetText(p, rapid.SampledFrom([]string{"", "A-1", `quoted "x", <y> \`}).Draw(t, p.String()))
		} else if rapid.Bool().Draw(t, p.String()+" known") {
			r.SetNumber(p, reading.Known(rapid.Float64().Draw(t, p.String())))
		}
	}
	for k := range r.Channels {
		r.Channels[k].PowerFactorSign = reading.PowerFactorSign(rapid.IntRange(0, 2).Draw(t, "sign"))
		r.Channels[k].ReactiveUnsigned = rapid.Bool().Draw(t, "unsigned")
	}
	r.Skew = time.Duration(rapid.Int64Range(0, int64(time.Hour)).Draw(t, "skew"))
	return r
}

func TestWhatIsWrittenIsReadBack(t *testing.T) {
	for name, newWriter := range writers {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				channels := rapid.IntRange(1, 3).Draw(t, "channels")
				at := time.Unix(rapid.Int64Range(0, 4e9).Draw(t, "at"), rapid.Int64Range(0, 999999999).Draw(t, "ns")).UTC()
				var b bytes.Buffer
				w := newWriter(&b)
				var want []reading.Reading
				for range rapid.IntRange(1, 3).Draw(t, "readings") {
					want = append(want, drawReading(t, channels, at))
					require.NoError(t, w.Write(want[len(want)-1]))
					at = at.Add(time.Duration(rapid.Int64Range(0, int64(time.Hour)).Draw(t, "later")))
				}
				got, err := collect(b.String())
				require.NoError(t, err, b.String())
				require.Equal(t, want, got, b.String())
			})
		})
	}
}

func TestLineOfTheREADME(t *testing.T) {
	all, err := collect(kilnLine)
	require.NoError(t, err)
	var b strings.Builder
	require.NoError(t, NewWriter(&b).Write(all[0]))
	require.Equal(t, strings.NewReplacer("1450.0", "1450", "210.0", "210", ":0.0", ":0", "60.0", "60", `,"current":null`, "").Replace(kilnLine)+"\n", b.String())
}

func TestCSVHeader(t *testing.T) {
	r := reading.Reading{At: time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC), Service: "120", Serial: "A\n\"1\""}
	r.Channels = []reading.Channel{{Voltage: reading.Known(120.25), Power: reading.Known(1e-9), PowerFactorSign: reading.SignTellsPower, ReactiveUnsigned: true}}
	var b strings.Builder
	require.NoError(t, NewCSVWriter(&b).Write(r))
	require.Equal(t, "at,service,voltage.1,current.1,power.1,reactive.1,apparent.1,pf.1,angle.1,voltage_angle.1,current_angle.1,energy_import.1,energy_export.1,"+
		"line_voltage.12,line_voltage.23,line_voltage.31,frequency,total_power,total_reactive,total_energy_import,total_energy_export,total_apparent_energy,"+
		"ct_primary,neutral_current,serial,model,pf_sign.1,reactive_unsigned.1,skew_ms\r\n"+
		"2026-05-04T09:30:00Z,120,120.25,,1e-09,,,,,,,,,,,,,,,,,,,,\"A \"\"1\"\"\",,power,true,\r\n", b.String())
}

// What no capture could hold is refused before a byte is written.
func TestReadingsThatCantBeSaved(t *testing.T) {
	at := time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC)
	tests := []struct {
		name string
		r    reading.Reading
		want string
	}{
		{"no time", reading.Reading{Channels: make([]reading.Channel, 1)}, "a reading without a time can't be saved"},
		{"no channels", reading.Reading{At: at}, "a reading of 0 channels can't be saved"},
		{"four channels", reading.Reading{At: at, Channels: make([]reading.Channel, 4)}, "a reading of 4 channels can't be saved"},
	}
	for name, newWriter := range writers {
		for _, test := range tests {
			t.Run(name+", "+test.name, func(t *testing.T) {
				var b bytes.Buffer
				require.EqualError(t, newWriter(&b).Write(test.r), test.want)
				require.Zero(t, b.Len())
			})
		}
	}
	w := NewCSVWriter(io.Discard)
	require.NoError(t, w.Write(reading.Reading{At: at, Channels: make([]reading.Channel, 2)}))
	require.NoError(t, w.Write(reading.Reading{At: at, Channels: make([]reading.Channel, 1)}))
	require.EqualError(t, w.Write(reading.Reading{At: at, Channels: make([]reading.Channel, 3)}), "a reading of 3 channels can't be saved under a header of 2")
}

// wholeLines fails unless each Write brings whole lines, and breaks when told.
type wholeLines struct {
	t    *testing.T
	left int
}

func (w *wholeLines) Write(b []byte) (int, error) {
	require.Equal(w.t, 1, bytes.Count(b, []byte("\n")))
	require.True(w.t, bytes.HasSuffix(b, []byte("\n")))
	if w.left--; w.left < 0 {
		return 0, errors.New("the disk is full")
	}
	return len(b), nil
}

func TestEveryLineIsOneWrite(t *testing.T) {
	all, err := collect(kilnLine)
	require.NoError(t, err)
	for name, newWriter := range writers {
		t.Run(name, func(t *testing.T) {
			out := &wholeLines{t, 3}
			w := newWriter(out)
			require.NoError(t, w.Write(all[0]))
			require.NoError(t, w.Write(all[0]))
			out.left = 0
			require.EqualError(t, w.Write(all[0]), "the disk is full")
		})
	}
}
