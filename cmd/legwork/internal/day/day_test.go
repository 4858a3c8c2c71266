package day

import (
	"encoding/xml"
	"errors"
	"flag"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/cmd/legwork/internal/promql"
)

var update = flag.Bool("update", false, "write golden files anew")

const every = 15 * time.Second

// begin is a midnight UTC; the tests' local time is UTC.
var begin = time.Date(2026, 5, 4, 0, 0, 0, 0, time.UTC)

func TestMain(m *testing.M) {
	time.Local = time.UTC
	os.Exit(m.Run())
}

// kept is what a server keeps of one meter from one desk.
type kept struct {
	instance, site string
	from, to       int // steps of which there are readings
	silent         run // in which the meter did not answer
	ahead          time.Duration
	power          func(k, step int) float64
	verdict        func(step int) string
}

// house is a desk that recorded all day.
func house() kept {
	return kept{instance: "desk-1:8460", site: "Tidewater", to: Steps,
		power: func(k, step int) float64 {
			x := 4000 + 3000*math.Sin(float64(step)/40+float64(k))
			if k == 2 {
				return -x / 3
			}
			return x
		},
		verdict: func(step int) string {
			if step < 150 {
				return "agrees"
			}
			return "fault"
		}}
}

// series are what the server gives.
func (h kept) series() []promql.Series {
	by := map[string]*promql.Series{}
	var all []*promql.Series
	put := func(step int, value float64, labels ...string) {
		key := strings.Join(labels, " ")
		if by[key] == nil {
			by[key] = &promql.Series{Metric: map[string]string{"meter": "a", "instance": h.instance, "job": "legwork"}}
			for i := 0; i < len(labels); i += 2 {
				by[key].Metric[labels[i]] = labels[i+1]
			}
			all = append(all, by[key])
		}
		at := begin.Add(time.Duration(step+1)*Step + h.ahead)
		if at.After(begin.Add(whole)) || !at.After(begin) {
			return // it was asked for a day by the desk's clock
		}
		by[key].Values = append(by[key].Values, promql.Sample{At: at.UnixMilli(),
			Value: strconv.FormatFloat(value, 'f', -1, 64)})
	}
	for s := h.from; s < h.to; s++ {
		silent := s >= h.silent.from && s < h.silent.to
		last := s
		if silent {
			last = h.silent.from - 1
			put(s, 0, "take", "up", "site", h.site)
		} else {
			put(s, 1, "take", "up", "site", h.site)
			put(s, 1, "take", "verdict", "site", h.site, "legwork_verdict", h.verdict(s))
			for k := range 3 {
				put(s, h.power(k, s), "take", "power", "channel", strconv.Itoa(k+1))
			}
		}
		put(s, float64(begin.Add(time.Duration(last+1)*Step-7*time.Second).Unix()), "take", "read", "site", h.site)
	}
	var out []promql.Series
	for _, s := range all {
		out = append(out, *s)
	}
	return out
}

func of(t *testing.T, all ...kept) *Day {
	var series []promql.Series
	for _, h := range all {
		series = append(series, h.series()...)
	}
	d, err := Of(series, "Tidewater", begin, every)
	require.NoError(t, err)
	return d
}

// A day with a silent meter, a desk that was off, and a verdict that changes.
func TestDay(t *testing.T) {
	h := house()
	h.silent, h.from = run{24, 36}, 6
	d := of(t, h)
	require.False(t, d.Steps[5].answered())
	require.True(t, d.Steps[6].answered())
	require.InDelta(t, h.power(2, 100), d.Steps[100].Power[2].Or(0), 0)
	require.Equal(t, []string{
		"Means of 5 minutes: channel 1 from 1.00 kW to 7.00 kW, channel 2 from 1.00 kW to 7.00 kW, channel 3 from -2.33 kW to -333 W.",
		"No readings for 1 h 30 min: 00:00 to 00:30 nothing was recorded, 02:00 to 03:00 the meter did not answer.",
		"Verdict: agrees, fault from 12:30."}, d.Words())
	golden(t, "day.svg", string(d.SVG("day")))
}

func golden(t *testing.T, name, got string) {
	file := filepath.Join("testdata", name)
	if *update {
		require.NoError(t, os.WriteFile(file, []byte(got), 0o600))
	}
	want, err := os.ReadFile(file)
	require.NoError(t, err)
	require.Equal(t, string(want), got)
}

// What is taken for granted, and what comes of it where it is wrong.
func TestWhatIsTakenForGranted(t *testing.T) {
	whole := of(t, house())
	t.Run("a meter of the same name at another site is not drawn", func(t *testing.T) {
		other := house()
		other.site, other.instance, other.power = "Kiln Hill", "desk-9", func(int, int) float64 { return 9e5 }
		require.Equal(t, whole, of(t, house(), other))
		_, err := Of(other.series(), "Tidewater", begin, every)
		require.ErrorIs(t, err, ErrNone)
	})
	t.Run("one of the same site too", func(t *testing.T) {
		other := house()
		other.instance, other.power = "desk-9", func(int, int) float64 { return 900 }
		_, err := Of(append(house().series(), other.series()...), "Tidewater", begin, every)
		require.ErrorIs(t, err, ErrTwo)
	})
	t.Run("a site that was renamed at noon", func(t *testing.T) {
		before, after := house(), house()
		before.site, before.to, after.from = "Kiln Hill", 144, 144
		require.Equal(t, whole, of(t, before, after))
	})
	t.Run("two desks, one after the other, with an overlap", func(t *testing.T) {
		before, after := house(), house()
		before.to, after.from, after.instance = 150, 120, "desk-2:8460"
		after.power = func(k, s int) float64 { return 1.05 * house().power(k, s) } // at other moments
		d := of(t, before, after)
		require.Equal(t, whole.Steps[149], d.Steps[149])
		require.InDelta(t, 1.05*house().power(0, 150), d.Steps[150].Power[0].Or(0), 1e-9)
		require.Equal(t, "No reading is missing.", d.Words()[1])
	})
	t.Run("the server's clock is an hour ahead", func(t *testing.T) {
		h := house()
		h.ahead = time.Hour
		d := of(t, h)
		require.Equal(t, time.Hour, d.Shift)
		require.Equal(t, whole.Steps[:Steps-12], d.Steps[:Steps-12])
		require.Contains(t, d.Words(),
			"The history's times are 1 h ahead of those of the readings; here they are the readings'.")
	})
	t.Run("an hour behind", func(t *testing.T) {
		h := house()
		h.ahead = -time.Hour
		d := of(t, h)
		require.Equal(t, -time.Hour, d.Shift)
		require.Equal(t, whole.Steps[12:], d.Steps[12:])
		require.Contains(t, d.Words(),
			"The history's times are 1 h behind those of the readings; here they are the readings'.")
	})
	t.Run("an old reading of a silent meter is no wrong clock", func(t *testing.T) {
		h := house()
		h.silent = run{12, Steps}
		d := of(t, h)
		require.Zero(t, d.Shift)
		require.Contains(t, d.Words()[1], "01:00 to 00:00 the meter did not answer")
	})
	t.Run("a desk that asks every two hours", func(t *testing.T) {
		h := house()
		all := h.series()
		for i := range all {
			if all[i].Metric["take"] == "read" {
				for n := range all[i].Values {
					all[i].Values[n].Value = fmt.Sprint(all[i].Values[n].At/1000 - int64(n%24)*300)
				}
			}
		}
		d, err := Of(all, "Tidewater", begin, 2*time.Hour)
		require.NoError(t, err)
		require.Zero(t, d.Shift)
	})
	t.Run("what is no number is no power", func(t *testing.T) {
		all := house().series()
		for _, bad := range []string{"NaN", "+Inf", "-Inf", "1e300", "", "x"} {
			for i := range all {
				if all[i].Metric["take"] == "power" {
					all[i].Values[20].Value = bad
				}
			}
			d, err := Of(all, "Tidewater", begin, every)
			require.NoError(t, err)
			require.False(t, d.Steps[20].answered(), bad)
			require.True(t, d.Steps[21].answered())
		}
	})
	t.Run("times that were not asked for", func(t *testing.T) {
		late, odd := house().series(), house().series()
		for i := range late {
			for n := range late[i].Values {
				late[i].Values[n].At += (24 * time.Hour).Milliseconds()
				odd[i].Values[n].At += 1000
			}
		}
		for _, all := range [][]promql.Series{late, odd, nil} {
			_, err := Of(all, "Tidewater", begin, every)
			require.ErrorIs(t, err, ErrNone)
		}
	})
	t.Run("labels that mean nothing", func(t *testing.T) {
		strange := []promql.Series{}
		at := promql.Sample{At: begin.Add(Step).UnixMilli(), Value: "1"}
		for _, m := range []map[string]string{nil, {"take": "power", "channel": "0"},
			{"take": "power", "channel": "99999999999"}, {"take": "verdict", "legwork_verdict": "<script>"}, {"take": "more"}} {
			strange = append(strange, promql.Series{Metric: m, Values: []promql.Sample{at}})
		}
		d, err := Of(append(house().series(), strange...), "Tidewater", begin, every)
		require.NoError(t, err)
		require.Equal(t, whole, d)
	})
	t.Run("more desks than there are", func(t *testing.T) {
		var all []promql.Series
		for i := range mostDesks + 1 {
			all = append(all, promql.Series{Metric: map[string]string{"take": "up", "instance": fmt.Sprint(i)}})
		}
		_, err := Of(all, "Tidewater", begin, every)
		require.ErrorContains(t, err, "more than 32 desks")
	})
}

// A verdict for every step, and gaps between: sentences stay short.
func TestManyChanges(t *testing.T) {
	h := house()
	h.verdict = func(s int) string { return []string{"agrees", "fault"}[s%2] }
	d := of(t, h)
	for i := 0; i < Steps; i += 2 {
		d.Steps[i].Power = Span{}.Power
	}
	for _, s := range d.Words() {
		require.Less(t, len(s), 300, s)
	}
	require.Contains(t, d.Words()[2], "and 283 more")
	require.Less(t, len(d.SVG("day")), 100_000)
}

// Whatever a day holds, its drawing is well-formed and its numbers are finite.
func FuzzDay(f *testing.F) {
	f.Add([]byte("123456"), 0.5)
	f.Add([]byte("\x00\xff\x10\x20"), -1e9)
	f.Fuzz(func(t *testing.T, steps []byte, size float64) {
		var all []promql.Series
		for i, b := range steps {
			m := map[string]string{"take": []string{"power", "up", "read", "verdict"}[b%4], "channel": fmt.Sprint(b >> 2 & 3),
				"legwork_verdict": []string{"agrees", "fault", "undecided", "x"}[b>>2&3], "instance": fmt.Sprint(b >> 7)}
			at := begin.Add(time.Duration(i+int(b>>4)) * Step)
			value := promql.Sample{At: at.UnixMilli(), Value: fmt.Sprint(size * float64(b))}
			all = append(all, promql.Series{Metric: m, Values: []promql.Sample{value}})
		}
		d, err := Of(all, "", begin, every)
		if err != nil {
			require.True(t, errors.Is(err, ErrNone) || errors.Is(err, ErrTwo))
			return
		}
		svg := string(d.SVG("day"))
		require.NotContains(t, svg, "%!")
		require.NotContains(t, svg, "NaN")
		require.NotContains(t, svg, "Inf")
		x := xml.NewDecoder(strings.NewReader(svg))
		for err == nil {
			_, err = x.Token()
		}
		require.ErrorIs(t, err, io.EOF)
	})
}
