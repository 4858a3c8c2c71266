package capture

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/probe/reading"
)

// The laws of both fuzzers, for any text at all:
//
//  1. an error is one line that begins with the file's name;
//  2. a reading has 1 to 3 channels and a time, every number in it is finite,
//     every angle within (-180, 180], and times don't go back;
//  3. what is read can be written in either form and reads the same again.
func captureLaws(t *testing.T, text string) []reading.Reading {
	all, err := collect(text)
	if err != nil {
		require.True(t, strings.HasPrefix(err.Error(), "f:"), err)
		require.NotContains(t, err.Error(), "\n")
	}
	for i, r := range all {
		require.NotEmpty(t, r.Channels)
		require.LessOrEqual(t, len(r.Channels), reading.MaxChannels)
		require.False(t, r.At.IsZero())
		require.False(t, i > 0 && r.At.Before(all[i-1].At))
		for _, p := range reading.Points() {
			x := r.Number(p).Or(0)
			require.False(t, math.IsNaN(x) || math.IsInf(x, 0), p)
		}
		for _, c := range r.Channels {
			require.LessOrEqual(t, c.Angle.Or(0).Abs(), 180.0)
		}
		readsTheSame(t, r)
	}
	return all
}

func readsTheSame(t *testing.T, r reading.Reading) {
	if y := r.At.Year(); y < 1 || y > 9999 {
		return // RFC 3339 has four digits
	}
	r.Service, r.Serial, r.Model = oneLine(r.Service), oneLine(r.Serial), oneLine(r.Model)
	for name, newWriter := range writers {
		var b bytes.Buffer
		require.NoError(t, newWriter(&b).Write(r), name)
		again, err := collect(b.String())
		require.NoError(t, err, b.String())
		require.True(t, again[0].At.Equal(r.At))
		again[0].At = r.At // the place of the clock is not kept
		require.Equal(t, r, again[0], b.String())
	}
}

// oneLine is a text that both forms keep: CSV drops blanks at its ends, and the
// end of a line.
func oneLine(s string) string {
	return strings.TrimSpace(strings.NewReplacer("\r", " ", "\n", " ").Replace(strings.ToValidUTF8(s, "?")))
}

// FuzzCaptureJSONL adds
//
//  4. a line that is read is JSON, and one that the library's decoder takes
//     into the same shape is read, with the same numbers.
func FuzzCaptureJSONL(f *testing.F) {
	f.Add(kilnLine)
	f.Add(kilnLine + "\n" + at("09:31:00"))
	f.Add(line(`"angle":1e300,"pf":-0.5e-3,"pf_sign":"lag","reactive_unsigned":true`))
	f.Add("{\"at\":\"2026-05-04T09:30:00Z\",\"line_voltage\":{\"12\":1},\"serial\":\"\\u00e9\\n\",\"channels\":[{},null]}\n{")
	f.Add("\xEF\xBB\xBF" + kilnLine + "\r\n\x00\x00")
	f.Fuzz(func(t *testing.T, text string) {
		text = "{" + text
		all := captureLaws(t, text)
		first, _, _ := strings.Cut(text, "\n")
		if len(all) > 0 {
			require.True(t, json.Valid([]byte(first)), "law 4")
		}
		var plain struct {
			Channels []map[string]*float64 `json:"channels"`
		}
		if err := json.Unmarshal([]byte(first), &plain); err != nil || len(all) == 0 {
			return
		}
		for k, channel := range plain.Channels {
			for name, x := range channel {
				p, err := reading.ParsePoint(fmt.Sprintf("%s.%d", name, k+1))
				require.NoError(t, err)
				if p.Quantity.Unit() != "deg" && x != nil {
					require.Equal(t, reading.Known(*x), all[0].Number(p), "law 4")
				}
			}
		}
	})
}

// FuzzCaptureCSV adds
//
//  5. a file that begins like CSV never gives a reading that has not its time
//     in the row, and a cut is told only of the last line.
func FuzzCaptureCSV(f *testing.F) {
	f.Add(kilnHeader + "\n" + kilnRow)
	f.Add("at,service,voltage.1,current.1\n2026-05-04T09:30:00Z,x,1,\n2026-05-04T09:30:00Z,x,1e3")
	f.Add("at,model,pf.1\n2026-05-04T09:30:00Z,\"x,\"\"y\",.5\n")
	f.Add("\xEF\xBB\xBFat;power.1\r\n")
	f.Fuzz(func(t *testing.T, text string) {
		if strings.HasPrefix(strings.TrimLeft(text, "\xEF\xBB\xBF \t\r\n"), "{") {
			return
		}
		captureLaws(t, text)
		if _, err := collect(text + "\n"); err != nil {
			require.False(t, errors.Is(err, ErrCut), "law 5")
		}
	})
}
