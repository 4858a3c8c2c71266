package diagnose_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
	"legwork/sim"
)

// Where a fault is named, its registration is that of the simulator's own
// phasors to 2 % of the true power in 95 of 100 panels.
func TestRegistrationOfNamedFaults(t *testing.T) {
	tabulates(t)
	for _, service := range []string{"120/208Y", "480D", "120/240", "120/240D"} {
		namedFaults(t, service)
	}
}

func namedFaults(t *testing.T, service string) {
	rng := rand.New(rand.NewPCG(6, 6))
	var off []float64
	held := 0
	for range 2000 {
		site, err := sim.RandomSite(rng, service, sim.MixedLoads())
		require.NoError(t, err)
		require.NoError(t, site.Mistake(1))
		truth := site.Truth()
		r := diagnose.Diagnose([]reading.Reading{site.Read()}, diagnose.Options{Tables: tables, Service: service, Generation: diagnose.GenerationNone})
		if r.Verdict != diagnose.Fault || !matches(r.Explanations[0], [][3]ctPlace{placesOf(truth, len(r.Channels))}) {
			continue
		}
		got, ok := r.Explanations[0].Registration.Get()
		if !ok {
			continue
		}
		want := truth.Registered / truth.Power
		off = append(off, math.Abs(got-want))
		if r.Explanations[0].RegistrationLow.Or(0) <= want && want <= r.Explanations[0].RegistrationHigh.Or(0) {
			held++
		}
	}
	require.Greater(t, len(off), 800, service)
	slices.Sort(off)
	p95 := off[len(off)*95/100]
	share := float64(held) / float64(len(off))
	t.Logf("%-9s %d faults named: off by at most %.4f of the true power in 95 of 100; the interval held the truth in %.1f %%", service, len(off), p95, 100*share)
	require.LessOrEqual(t, p95, 0.02, service)
	require.GreaterOrEqual(t, share, 0.94, service)
}

// On a three-wire delta whose line voltages are unbalanced both CTs reversed
// register -1, not what a balanced star would make of it.
func TestBothReversedOnAnUnbalancedDelta(t *testing.T) {
	b := branch{e: [3]complex128{phasor(285, 0), phasor(268, -121), phasor(279, 122)}}
	for m := range 3 {
		b.j[m] = b.e[m] / 277 * phasor(20+4*float64(m), -25)
	}
	b.j[1] = -b.j[0] - b.j[2]
	r := diagnose.Diagnose([]reading.Reading{b.twoElements(480, wiring.Arrangement{{Leg: 1, Reversed: true}, {Leg: 3, Reversed: true}})}, diagnose.Options{Tables: tables})
	require.InDelta(t, -1, r.Explanations[0].Registration.Or(9), 1e-9, r.Summary)
}
