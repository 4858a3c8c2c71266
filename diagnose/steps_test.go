package diagnose_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/sim"
)

// Ten changes of load settle what one look leaves open.
func TestAccuracyTenSteps(t *testing.T) {
	t.Log(accuracyHead)
	for _, c := range []struct {
		g      regime
		panels int
		right  float64
	}{
		{regime{"120/208Y", "mixed", sim.Everything, 10}, 600, 0.99},
		{regime{"120/208Y", "mixed", sim.NoVoltageAngles, 10}, 600, 0.985},
		{regime{"120/208Y", "mixed", sim.PowerOnly, 10}, 150, 0.95},
		{regime{"120/208Y", "heat", sim.Everything, 10}, 400, 0.99},
		{regime{"120/208Y", "motors", sim.Everything, 10}, 400, 0.97},
		{regime{"480D", "mixed", sim.Everything, 10}, 400, 0.98},
		{regime{"120/240D", "mixed", sim.Everything, 10}, 400, 0.98},
	} {
		r := c.g.run(t, c.panels, 1)
		t.Log(r.row(c.g))
		require.GreaterOrEqual(t, float64(r.right), c.right*float64(r.panels), "right, %+v", c.g)
		require.LessOrEqual(t, r.falseAlarms, 2, "false alarms, %+v", c.g)
	}
}

// One odd load that cycles ten times is one piece of evidence: it must not mislead.
func TestCyclingLoadCountsOnce(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 3))
	decided, right := 0, 0
	for range 200 {
		site, err := sim.RandomSite(rng, "120/208Y", sim.OneOddLoad())
		require.NoError(t, err)
		require.NoError(t, site.Mistake(0.4))
		c := diagnose.New(diagnose.Options{Service: "120/208Y"})
		c.Add(site.Read())
		for range 10 {
			site.Switch(len(site.Panel.Loads) - 1)
			c.Add(site.Read())
		}
		r := c.Result()
		require.LessOrEqual(t, r.Steps, 2)
		if r.Verdict != diagnose.Undecided {
			decided++
			if matches(r.Explanations[0], [][3]ctPlace{placesOf(site.Truth(), 3)}) {
				right++
			}
		}
	}
	t.Logf("decided %d, of which right %d", decided, right)
	require.Greater(t, decided, 100)
	require.GreaterOrEqual(t, float64(right), 0.97*float64(decided))
}

// Slow drift and dips of the voltage are no steps.
func TestDriftIsNoStep(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 4))
	site, err := sim.RandomSite(rng, "120/208Y", sim.MixedLoads())
	require.NoError(t, err)
	c := diagnose.New(diagnose.Options{})
	for range 200 {
		site.Drift()
		c.Add(site.Read())
	}
	require.LessOrEqual(t, c.Result().Steps, 3)
}

// A day at one reading a second, with a load changing every minute.
func BenchmarkDay(b *testing.B) {
	rng := rand.New(rand.NewPCG(5, 5))
	site, err := sim.RandomSite(rng, "120/208Y", sim.MixedLoads())
	require.NoError(b, err)
	b.ReportAllocs()
	for b.Loop() {
		c := diagnose.New(diagnose.Options{})
		for i := range 86_400 {
			if i%60 == 0 {
				site.Step()
			}
			c.Add(site.Read())
		}
		c.Result()
	}
}
