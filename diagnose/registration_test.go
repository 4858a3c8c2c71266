package diagnose_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/probe/reading"
	"legwork/sim"
)

// Where a fault is named, its registration is that of the simulator's own
// phasors to 2 % of the true power in 95 of 100 panels.
func TestRegistrationOfNamedFaults(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 6))
	var off []float64
	held := 0
	for range 2000 {
		site, err := sim.RandomSite(rng, "120/208Y", sim.MixedLoads())
		require.NoError(t, err)
		require.NoError(t, site.Mistake(1))
		truth := site.Truth()
		r := diagnose.Diagnose([]reading.Reading{site.Read()}, diagnose.Options{Service: "120/208Y"})
		if r.Verdict != diagnose.Fault || !matches(r.Explanations[0], [][3]ctPlace{placesOf(truth, 3)}) {
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
	require.Greater(t, len(off), 1000)
	slices.Sort(off)
	p95 := off[len(off)*95/100]
	share := float64(held) / float64(len(off))
	t.Logf("%d faults named: off by at most %.4f of the true power in 95 of 100; the interval held the truth in %.1f %%", len(off), p95, 100*share)
	require.LessOrEqual(t, p95, 0.02)
	require.GreaterOrEqual(t, share, 0.9)
}
