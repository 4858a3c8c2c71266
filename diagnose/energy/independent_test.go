package energy

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose/wiring"
	"legwork/sim"
)

// simulated is registered over true power of the simulator's own phasors: one
// load a leg, all with one lag.
func simulated(t *testing.T, on string, q sim.Sequence, mistakes string, amps [3]float64, lag float64) float64 {
	kind, err := sim.ParseService(on)
	require.NoError(t, err)
	u := sim.NewSupply(kind, q)
	site := &sim.Site{Panel: sim.Panel{Supply: u}, Wiring: sim.RightWiring(u)}
	for i := range kind.Legs() {
		leg := sim.LegA + sim.Conductor(i)
		site.Panel.Loads = append(site.Panel.Loads, sim.Load{Name: "load", VA: 1000 * amps[i], Lag: lag,
			Across: sim.ToNeutral(leg)})
	}
	made, err := sim.ParseMistakes(on, mistakes)
	require.NoError(t, err)
	for _, m := range made {
		m.Apply(&site.Wiring)
	}
	truth := site.Truth()
	return truth.Registered / truth.Power
}

// An assumed arrangement registers what the simulator's own physics has it
// register, and its interval holds 95 of 100 loads of its range.
func TestAssumedAgainstTheSimulator(t *testing.T) {
	if testing.Short() {
		t.Skip("long, and of one goroutine")
	}
	rng := rand.New(rand.NewPCG(3, 3))
	open := 0 // rows whose registration depends on the load
	for _, c := range []struct{ on, assumed, mistakes string }{
		{"120/208Y", "ct 1 reversed", "ct1-reversed"},
		{"120/208Y", "cts 2 and 3 crossed, ct 2 reversed", "ct2-ct3-crossed,ct2-reversed"},
		{"347/600Y", "cts rolled, cts reversed", "cts-rolled,cts-reversed"},
		{"347/600Y", "cts rolled back", "cts-rolled-back"},
		{"230/400Y", "input 3 dead", "v3-dead"},
		{"230/400Y", "ct 2 on leg 1", "ct2-on-leg1"},
		{"277/480Y", "ct 2 -50 %", "ct2-half-ratio"},
		{"120/240", "ct 1 reversed", "ct1-reversed"},
		{"120/240", "cts 1 and 2 crossed", "ct1-ct2-crossed"},
		{"120/208N", "cts 1 and 2 crossed", "ct1-ct2-crossed"},
	} {
		for i, s := range []sim.Sequence{sim.ABC, sim.ACB} {
			q := []wiring.Sequence{wiring.Forward, wiring.Backward}[i]
			a, err := ParseAssumedFault(service(t, c.on), c.assumed)
			require.NoError(t, err)
			load := Load{Lag: [2]float64{10, 40}, Unbalance: 0.3, Sequence: q}
			g := a.Registration(load)
			held := 0
			const n = 1000
			for range n {
				lag := 10 + 30*rng.Float64()
				var amps [3]float64
				for m := range amps {
					amps[m] = 1 + 0.3*(2*rng.Float64()-1)
				}
				want := simulated(t, c.on, s, c.mistakes, amps, lag)
				require.InDelta(t, want, a.ratio(amps, lag, q), 1e-9, "%s: %s", c.on, c.assumed)
				if g.Low-1e-9 <= want && want <= g.High+1e-9 {
					held++
				}
			}
			t.Logf("%-9s %-36s %s  %.3f .. %.3f  %5.1f %% held", c.on, c.assumed, q, g.Low, g.High, 100*float64(held)/n)
			if g.High-g.Low > 1e-6 {
				open++
				require.InDelta(t, 0.95, float64(held)/n, 0.02)
			}
		}
	}
	require.GreaterOrEqual(t, open, 18, "of 20")
}
