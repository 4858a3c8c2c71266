package diagnose_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/probe/reading"
	"legwork/sim"
)

// A map that is wrong in one thing alone, or by a factor that is no power of ten: each row
// is what it does to the readings of one panel, and what at most, or at least, may be said.
type oneThing struct {
	name   string
	info   sim.Information
	spoil  func(all []reading.Reading)
	agrees float64                     // exit status 0
	moved  float64                     // a fault with a move
	blamed float64                     // the map is the first explanation
	kept   bool                        // a danger may be told beside it
	shows  func(*reading.Reading) bool // panels that can show it; nil for all
}

// each makes a change to every reading.
func each(do func(r *reading.Reading)) func([]reading.Reading) {
	return func(all []reading.Reading) {
		for i := range all {
			do(&all[i])
		}
	}
}

// scaledBy multiplies one quantity: of channel k, or of all for 0.
func scaledBy(q reading.Quantity, k int, by float64) func([]reading.Reading) {
	return each(func(r *reading.Reading) {
		for _, p := range reading.Points() {
			if p.Quantity == q && (k == 0 || p.Index == k) {
				r.SetNumber(p, r.Number(p).Map(func(x float64) float64 { return x * by }))
			}
		}
	})
}

// mappedTo gives channel k of a quantity the value of channel from.
func mappedTo(q reading.Quantity, k, from int) func([]reading.Reading) {
	return each(func(r *reading.Reading) {
		r.SetNumber(reading.Point{Quantity: q, Index: k}, r.Number(reading.Point{Quantity: q, Index: from}))
	})
}

// permuted exchanges channels 1 and 2 of a quantity.
func permuted(q reading.Quantity) func([]reading.Reading) {
	return each(func(r *reading.Reading) {
		one, two := reading.Point{Quantity: q, Index: 1}, reading.Point{Quantity: q, Index: 2}
		a, b := r.Number(one), r.Number(two)
		r.SetNumber(one, b)
		r.SetNumber(two, a)
	})
}

// apart reports currents of channels 1 and 2 that an exchange changes.
func apart(r *reading.Reading) bool {
	a, b := r.Channels[0].Current.Or(0), r.Channels[1].Current.Or(0)
	return math.Max(a, b) > 1.15*math.Min(a, b)
}

// lags reports a panel in which the reactive power is no small part of it.
func lags(r *reading.Reading) bool {
	n := 0
	for k := range r.Channels {
		c := &r.Channels[k]
		if math.Abs(c.Power.Or(0)) < 0.95*c.Voltage.Or(0)*c.Current.Or(0) {
			n++
		}
	}
	return n == len(r.Channels)
}

func oneThings() []oneThing {
	pq, vip, all := sim.PowerReactive, sim.PowerOnly, sim.Everything
	return []oneThing{
		{name: "one voltage times 2", info: pq, spoil: scaledBy(reading.Voltage, 2, 2), blamed: 0.97, kept: true},
		{name: "one voltage times sqrt 3", info: pq, spoil: scaledBy(reading.Voltage, 2, math.Sqrt(3)), blamed: 0.97, kept: true},
		{name: "one voltage times 10", info: vip, spoil: scaledBy(reading.Voltage, 2, 10), blamed: 0.97, kept: true},
		{name: "power over sqrt 3", info: pq, spoil: scaledBy(reading.Power, 0, 1/math.Sqrt(3)), agrees: 0.05, moved: 0.02, blamed: 0.8},
		{name: "power halved", info: all, spoil: scaledBy(reading.Power, 0, 0.5), agrees: 0.05, moved: 0.02, blamed: 0.8},
		{name: "reactive a thousandth", info: pq, spoil: scaledBy(reading.Reactive, 0, 0.001), agrees: 0.05, moved: 0.03, blamed: 0.8, shows: lags},
		{name: "no reactive", info: pq, spoil: scaledBy(reading.Reactive, 0, 0), agrees: 0.1, moved: 0.05, blamed: 0.5, shows: lags},
		{name: "power of one channel in kW", info: pq, spoil: scaledBy(reading.Power, 1, 0.001), agrees: 0.02, moved: 0.02, blamed: 0.7},
		{name: "power of one channel in kW", info: vip, spoil: scaledBy(reading.Power, 1, 0.001), agrees: 0.02, moved: 0.02},
		{name: "currents of 1 and 2 exchanged", info: pq, spoil: permuted(reading.Current), agrees: 0.05, moved: 0.03, blamed: 0.8, shows: apart},
		{name: "powers of 1 and 2 exchanged", info: all, spoil: permuted(reading.Power), agrees: 0.05, moved: 0.03, blamed: 0.8, shows: apart},
		{name: "current 2 mapped twice", info: pq, spoil: mappedTo(reading.Current, 1, 2), agrees: 0.1, moved: 0.03, blamed: 0.6, shows: apart},
		{name: "pf a tenth", info: all, spoil: scaledBy(reading.PowerFactor, 0, 0.1), agrees: 0.02, moved: 0.02, blamed: 0.9},
	}
}

func TestWorldsOneThingMisread(t *testing.T) {
	tabulates(t)
	t.Log("what was wrong                               panels  agrees   moved   first    kept")
	for _, c := range oneThings() {
		rng := rand.New(rand.NewPCG(51, uint64(len(c.name))))
		var panels, agrees, moved, first, kept, silent int
		for panels < 200 {
			service := wyes[panels%len(wyes)]
			b := belief{info: c.info, loads: sim.MixedLoads(), mistakes: 0.3}
			read := b.reads(t, b.site(t, rng, service))
			if c.shows != nil && !c.shows(&read[len(read)-1]) {
				continue
			}
			panels++
			c.spoil(read)
			r := diagnose.Diagnose(read, diagnose.Options{Service: service, Tables: tables})
			if r.Verdict == diagnose.Agrees {
				agrees++
			}
			if r.Verdict == diagnose.Fault && !r.KeepAway && len(r.Explanations[0].Moves) > 0 {
				moved++
			}
			if len(r.Explanations) > 0 && r.Explanations[0].Cause == diagnose.CauseMap {
				first++
			}
			if r.KeepAway {
				kept++
			}
			if r.Verdict == diagnose.Undecided && len(r.NextTests) == 0 {
				silent++
			}
		}
		pct := func(n int) float64 { return 100 * float64(n) / float64(panels) }
		t.Logf("%-33s %-11s %6d %7.1f %7.1f %7.1f %7.1f", c.name, c.info, panels, pct(agrees), pct(moved), pct(first), pct(kept))
		atMost(t, c.agrees, agrees, panels, c.name)
		atMost(t, c.moved, moved, panels, c.name)
		atLeast(t, c.blamed, first, panels, c.name)
		if !c.kept {
			require.Zero(t, kept, c.name)
		}
	}
}
