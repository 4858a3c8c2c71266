package diagnose_test

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/probe/reading"
	"legwork/sim"
)

// Ten changes of load settle what one look leaves open. On seeds that were looked
// at while the model was made; on others, over 2000 to 3000 panels: 99.7 % with
// everything, 99.6 without angles of the voltages, 99.2 for motors, 96.2 for V, I, P (600).
func TestAccuracyTenSteps(t *testing.T) {
	tabulates(t)
	t.Log(accuracyHead)
	for _, c := range []struct {
		g      regime
		panels int
		right  float64
	}{
		{regime{"120/208Y", "mixed", sim.Everything, 10}, 600, 0.995},
		{regime{"120/208Y", "mixed", sim.NoVoltageAngles, 10}, 600, 0.995},
		{regime{"120/208Y", "mixed", sim.PowerReactive, 10}, 300, 0.98},
		{regime{"120/208Y", "mixed", sim.PowerOnly, 10}, 150, 0.95},
		{regime{"120/208Y", "heat", sim.Everything, 10}, 400, 0.99},
		{regime{"120/208Y", "motors", sim.Everything, 10}, 400, 0.985},
		{regime{"480D", "mixed", sim.Everything, 10}, 400, 0.98},
		{regime{"120/240D", "mixed", sim.Everything, 10}, 400, 0.98},
	} {
		r := c.g.run(t, c.panels, 1)
		t.Log(r.row(c.g))
		require.GreaterOrEqual(t, float64(r.right), c.right*float64(r.panels), "right, %+v", c.g)
		require.LessOrEqual(t, r.falseAlarms, 1, "false alarms, %+v", c.g)
	}
}

// One odd load that cycles ten times is one piece of evidence: it must not mislead.
// Over 4000 panels of another seed 99.2 % of what is decided is right; 97.7 by the
// first state alone.
func TestCyclingLoadCountsOnce(t *testing.T) {
	tabulates(t)
	rng := rand.New(rand.NewPCG(3, 3))
	decided, right := 0, 0
	for range 600 {
		site, err := sim.RandomSite(rng, "120/208Y", sim.OneOddLoad())
		require.NoError(t, err)
		require.NoError(t, site.Mistake(0.4))
		c := diagnose.New(diagnose.Options{Tables: tables, Service: "120/208Y", Generation: diagnose.GenerationNone})
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
	require.Greater(t, decided, 440)
	require.GreaterOrEqual(t, float64(right), 0.99*float64(decided))
}

// Slow drift and dips of the voltage are no steps, and a load that is switched among them
// is one.
func TestDriftIsNoStep(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 4))
	stirred, mistaken := 0, 0
	for i := range 24 {
		service := []string{"120/208Y", "120/240", "480D"}[i%3]
		site, err := sim.RandomSite(rng, service, sim.MixedLoads())
		require.NoError(t, err)
		c := diagnose.New(diagnose.Options{Tables: tables, Service: service})
		for range 200 {
			site.Drift()
			c.Add(site.Read())
		}
		drifted := c.Result().Steps
		mistaken += drifted
		before := site.Read()
		site.Switch(largest(site))
		for range 5 {
			site.Drift()
			c.Add(site.Read())
		}
		if farApart(before, site.Read()) {
			stirred++
			require.Equal(t, 1, c.Result().Steps-drifted, "%s, panel %d: the step among the drift", service, i)
		}
	}
	require.Greater(t, stirred, 15)
	// each load drifts by a hundredth a second here; over 4800 readings one strays that far
	require.LessOrEqual(t, mistaken, 1, "changes seen in drift")
}

// largest is the load that takes most, counted from 0.
func largest(site *sim.Site) (at int) {
	for i, l := range site.Panel.Loads {
		if l.VA > site.Panel.Loads[at].VA {
			at = i
		}
	}
	return at
}

// farApart reports a current that changed by a tenth and 2 A.
func farApart(a, b reading.Reading) bool {
	for k := range a.Channels {
		x, y := a.Channels[k].Current.Or(0), b.Channels[k].Current.Or(0)
		if math.Abs(x-y) > 0.1*math.Max(x, y)+2 {
			return true
		}
	}
	return false
}

// A meter that averages over a second shows a step in parts: read every 5 ms,
// every 50 ms or every second, it is one step, and it tells as much.
func TestStepsAreStepsHoweverFastTheyAreRead(t *testing.T) {
	for _, every := range []time.Duration{5 * time.Millisecond, 20 * time.Millisecond, 50 * time.Millisecond, 300 * time.Millisecond, time.Second} {
		c := diagnose.New(diagnose.Options{Tables: tables})
		at := time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC)
		for d := time.Duration(0); d < 40*time.Second; d += every {
			var on [3]float64 // of the loads that come on after 10, 20 and 30 s
			for m := range on {
				on[m] = max(0, min(1, d.Seconds()-10*float64(m+1)))
			}
			b := branch{}
			for m := range 3 {
				b.e[m] = phasor(277, -120*float64(m))
				b.j[m] = phasor(40, -120*float64(m)-20) + phasor(12*on[m], -120*float64(m)-5)
			}
			r := b.wye(277, right)
			r.At = at.Add(d)
			c.Add(r)
		}
		r := c.Result()
		require.Equal(t, 3, r.Steps, "read every %s", every)
		require.Equal(t, diagnose.Agrees, r.Verdict)
	}
}

// What passes in a moment is no state of the load.
func TestABlipIsNoStep(t *testing.T) {
	c := diagnose.New(diagnose.Options{Tables: tables})
	at := time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC)
	for i := range 600 {
		b := branch{}
		for m := range 3 {
			b.e[m], b.j[m] = phasor(277, -120*float64(m)), phasor(40, -120*float64(m)-20)
		}
		if i%100 < 3 && i > 50 {
			b.j[0] *= 3
		}
		r := b.wye(277, right)
		r.At = at.Add(time.Duration(i) * 50 * time.Millisecond)
		c.Add(r)
	}
	require.Zero(t, c.Result().Steps)
}

// A day at one reading a second, with a load changing every minute.
func BenchmarkDay(b *testing.B) {
	rng := rand.New(rand.NewPCG(5, 5))
	site, err := sim.RandomSite(rng, "120/208Y", sim.MixedLoads())
	require.NoError(b, err)
	b.ReportAllocs()
	for b.Loop() {
		c := diagnose.New(diagnose.Options{Tables: tables})
		for i := range 86_400 {
			if i%60 == 0 {
				site.Step()
			}
			c.Add(site.Read())
		}
		c.Result()
	}
}
