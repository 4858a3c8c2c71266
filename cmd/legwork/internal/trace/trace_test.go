package trace

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/probe/reading"
	"legwork/sim"
)

var begin = time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC)

// told is a reading of so many W on each channel, after so many seconds.
func told(second int, watts ...float64) *reading.Reading {
	r := &reading.Reading{At: begin.Add(time.Duration(second) * time.Second)}
	for _, w := range watts {
		amps := w / 120
		r.Channels = append(r.Channels, reading.Channel{Voltage: reading.Known(120.0), Current: reading.Known(max(amps,
			-amps)), Power: reading.Known(w)})
	}
	return r
}

// follow feeds one value a second, and gives the circuits with the second at
// which each was named.
func follow(t *Tracer, meter string, values ...[]float64) map[int]Circuit {
	named := map[int]Circuit{}
	for i, v := range values {
		if c, ok := t.Add(meter, told(i, v...)); ok {
			named[i] = c
		}
	}
	return named
}

// repeated makes n readings alike.
func repeated(n int, watts ...float64) [][]float64 {
	var all [][]float64
	for range n {
		all = append(all, watts)
	}
	return all
}

func joined(parts ...[][]float64) (all [][]float64) {
	for _, p := range parts {
		all = append(all, p...)
	}
	return all
}

func TestCircuitIsNamedWithinTwoPolls(t *testing.T) {
	on, off := []float64{4000, 3000, 5000}, []float64{4000, 1480, 5000}
	named := follow(New(0), "suite-12", joined(repeated(20, on...), repeated(12, off...), repeated(5, on...))...)
	require.Len(t, named, 1)
	c, ok := named[33] // it is back in reading 32
	require.True(t, ok)
	require.Equal(t, "suite-12", c.Meter)
	require.Equal(t, 2, c.Channel)
	require.InDelta(t, -1520, c.Power, 1)
	require.InDelta(t, 12, c.Off, 0)
	require.Len(t, c.Channels, 1)
}

// A meter that averages shows a step in two parts.
func TestStepInParts(t *testing.T) {
	named := follow(New(0), "a", joined(repeated(10, 3000), repeated(1, 2400), repeated(9, 1500), repeated(1, 2000),
		repeated(6, 3000))...)
	require.Len(t, named, 1)
	require.InDelta(t, -1500, named[22].Power, 1)
}

// A circuit of two poles, and one whose CT is reversed: its power goes up as it
// goes off.
func TestOtherWirings(t *testing.T) {
	named := follow(New(0), "a", joined(repeated(10, 3000, 2000), repeated(9, 1000, 0), repeated(6, 3000, 2000))...)
	require.Len(t, named[20].Channels, 2)
	named = follow(New(0), "a", joined(repeated(10, -3000), repeated(9, -1000), repeated(6, -3000))...)
	require.InDelta(t, 2000, named[20].Power, 1)
}

func TestWhatIsNoCircuit(t *testing.T) {
	for name, values := range map[string][][]float64{
		"goes and stays away":    joined(repeated(10, 3000), repeated(60, 1000)),
		"comes and stays":        joined(repeated(10, 1000), repeated(60, 3000)),
		"comes back as another":  joined(repeated(10, 3000), repeated(20, 1000), repeated(20, 2200)),
		"a blip":                 joined(repeated(10, 3000), repeated(1, 1000), repeated(20, 3000)),
		"below what is followed": joined(repeated(10, 3000), repeated(10, 2950), repeated(10, 3000)),
		"back after ten minutes": joined(repeated(10, 3000), repeated(600, 1000), repeated(10, 3000)),
	} {
		require.Empty(t, follow(New(0), "a", values...), name)
	}
	r := told(0)
	_, ok := New(0).Add("a", r)
	require.False(t, ok, "a reading without channels")
}

// A load that cycles is soon known for that.
func TestOwnLoadIsKnown(t *testing.T) {
	var values [][]float64
	for range 12 {
		values = joined(values, repeated(25, 3000), repeated(20, 1800))
	}
	var last Circuit
	first := 1.0
	tr := New(0)
	for i := range values {
		for m := range 30 { // others that do nothing
			tr.Add(fmt.Sprint("still ", m), told(i, 500))
		}
		if c, ok := tr.Add("cycles", told(i, values[i]...)); ok {
			last, first = c, min(first, c.Probability)
		}
	}
	require.Less(t, last.Probability, 0.2)
	require.Greater(t, last.Before, 3.0)
}

// steady are the loads of each place that don't come and go by themselves.
var steady = map[string][]string{
	"boathouse-flat": {"refrigerator", "desk", "lamps"},
	"cottage-bakery": {"cold room", "lamps", "shop window"},
	"dye-works":      {"laboratory", "lamps", "stenter drive", "liquor pumps"},
	"kiln-house":     {"kiln room fan", "lamps of the studio", "lamps of the kiln room", "kiln controllers"},
	"saw-shed":       {"chip blower", "yard lamps", "shed lamps", "head saw"},
}

// yard is some panels, of which a share has loads that come and go every minute
// or two.
func yard(t *testing.T, panels int, restless float64) (all []*sim.Place, lists [][]string) {
	for i := range panels {
		name := sim.Names()[i%len(sim.Names())]
		p, err := sim.Open(name, sim.Options{Seed: uint64(i + 1), Start: begin})
		require.NoError(t, err)
		if float64(i%10) >= 10*restless {
			for _, c := range p.Circuits() {
				require.NoError(t, p.Break(c, !slices.Contains(steady[name], c)))
			}
		}
		all, lists = append(all, p), append(lists, steady[name])
	}
	return all, lists
}

// Two people switch breakers at two panels, a minute apart each, among panels
// whose own loads come and go.
func TestTwoPeopleAmongRestlessPanels(t *testing.T) {
	if testing.Short() {
		t.Skip("a table of shares over many panels")
	}
	for _, c := range []struct {
		restless           float64
		leastNamed, others int
	}{{0, 22, 0}, {0.2, 20, 1}, {1, 8, 6}} {
		t.Run(fmt.Sprintf("%.0f %% restless", 100*c.restless), func(t *testing.T) {
			named, others, late := study(t, c.restless)
			t.Logf("%d of 24 circuits named, at most %d readings after; %d others called circuits", named, late, others)
			require.GreaterOrEqual(t, named, c.leastNamed)
			require.LessOrEqual(t, others, c.others)
			require.LessOrEqual(t, late, 3)
		})
	}
}

type turn struct{ panel, off, on int }

func study(t *testing.T, restless float64) (named, others, late int) {
	const panels, warm, circuits = 30, 600, 12
	rng := rand.New(rand.NewPCG(7, 7))
	all, lists := yard(t, panels, restless)
	var turns []turn
	plan := map[int][]func(){}
	for i := range circuits {
		for person := range 2 {
			u := turn{panel: rng.IntN(panels/2)*2 + person, off: warm + 60*i + 7*person + rng.IntN(10)}
			u.on = u.off + 8 + rng.IntN(6)
			name := lists[u.panel][rng.IntN(len(lists[u.panel]))]
			turns = append(turns, u)
			plan[u.off] = append(plan[u.off], func() { require.NoError(t, all[u.panel].Break(name, true)) })
			plan[u.on] = append(plan[u.on], func() { require.NoError(t, all[u.panel].Break(name, false)) })
		}
	}
	tr := New(0)
	for s := range warm + 60*circuits + 60 {
		for _, do := range plan[s] {
			do()
		}
		for i, p := range all {
			r := p.At(begin.Add(time.Duration(s) * time.Second))
			c, ok := tr.Add(fmt.Sprint(i), &r)
			if !ok || c.Probability < Sure || s < warm {
				continue
			}
			k := slices.IndexFunc(turns, func(u turn) bool { return u.panel == i && s >= u.on && s <= u.on+6 })
			if k < 0 {
				others++
				continue
			}
			named++
			late = max(late, s-turns[k].on)
		}
	}
	return named, others, late
}

func BenchmarkTwoHundredMeters(b *testing.B) {
	tr := New(0)
	names := make([]string, 200)
	for i := range names {
		names[i] = fmt.Sprint(i)
	}
	n := 0
	for b.Loop() {
		for _, m := range names {
			tr.Add(m, told(n, 3000, float64(2000+n%7*300), 1000))
		}
		n++
	}
}
