package diagnose_test

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/probe/reading"
	"legwork/sim"
)

// stopped reports that nothing is advised but to keep away.
func stopped(r diagnose.Result) bool {
	return len(r.Cautions) > 0 && strings.HasPrefix(r.Cautions[0], "Stop")
}

// A neutral that is lost at light or even load: the legs part by a tenth, and no
// voltage is beyond its limits.
func TestLostNeutralAtLightLoad(t *testing.T) {
	_, in := throughRegisters(t, "cottage-bakery", "neutral-lost", 0)
	r := diagnose.Diagnose([]reading.Reading{in}, diagnose.Options{Tables: tables, Service: "120/240"})
	require.NotEqual(t, diagnose.Agrees, r.Verdict, r.Summary)
	require.Contains(t, strings.ToLower(r.Summary), "the neutral of the service may be lost")
	require.True(t, stopped(r), r.Cautions)
	require.Empty(t, r.NextTests)
	for _, x := range r.Explanations {
		require.Contains(t, x.Moves[0].Steps[0], "Stop")
		require.Empty(t, x.Expect)
	}
}

// How far two legs must part, the voltage between them unmoved.
func TestLegsThatPart(t *testing.T) {
	for apart, stop := range map[float64]bool{0: false, 2: false, 4: false, 8: true, 12: true, 20: true} {
		r := splitPhase()
		r.Channels[0].Voltage, r.Channels[1].Voltage = reading.Known(120+0.6*apart), reading.Known(120-0.6*apart)
		for k := range r.Channels {
			r.Channels[k].Power = reading.Value{}
		}
		require.Equal(t, stop, stopped(diagnose.Diagnose([]reading.Reading{r}, diagnose.Options{Tables: tables})), "%g %% apart", apart)
	}
	low := splitPhase() // one input that is low by itself is no lost neutral
	low.Channels[1].Voltage = reading.Known(98.0)
	require.False(t, stopped(diagnose.Diagnose([]reading.Reading{low}, diagnose.Options{Tables: tables})))
}

// A load on one leg moves the two voltages apart where the neutral is lost; where
// it holds, they sag together or one alone, by little.
func TestStepsThatMoveTheNeutral(t *testing.T) {
	capture := func(apart ...float64) []reading.Reading {
		var all []reading.Reading
		for i, a := range apart {
			r := splitPhase()
			for k := range r.Channels {
				c := &r.Channels[k]
				c.Voltage = reading.Known(120 * (1 + a/200*float64(1-2*k)))
				c.Current = c.Current.Map(func(amps float64) float64 { return amps + 3*float64((i*(k+1))%4) })
				c.Power = reading.Value{}
			}
			all = append(all, r)
		}
		return all
	}
	require.True(t, stopped(diagnose.Diagnose(capture(-3, 3, -4, 2), diagnose.Options{Tables: tables})))
	require.False(t, stopped(diagnose.Diagnose(capture(3, 3.2, 2.8, 3.1), diagnose.Options{Tables: tables})), "apart, but unmoved")
	require.False(t, stopped(diagnose.Diagnose(capture(0, 0.6, -0.4, 0.5), diagnose.Options{Tables: tables})))
}

// Ten minutes at every place: with its neutral lost it is seen, and with its
// neutral sound it never is said to be lost.
func TestNeutralOfEveryPlace(t *testing.T) {
	tabulates(t)
	start := time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC)
	watched := map[string]int{}
	for _, name := range sim.Names() {
		for seed := range uint64(4) {
			for _, fault := range []string{"", "ct1-reversed", "neutral-lost"} {
				p, err := sim.Open(name, sim.Options{Fault: fault, Seed: seed, Start: start})
				require.NoError(t, err, "%s %s", name, fault)
				watched[fault]++
				c := diagnose.New(diagnose.Options{Tables: tables, Service: p.Service()})
				saw := false
				for i := range 120 {
					c.Add(p.At(start.Add(time.Duration(5*i) * time.Second)))
					if i%10 == 9 {
						saw = saw || stopped(c.Result())
					}
				}
				want := fault == "neutral-lost"
				if one, _ := sim.Open(name, sim.Options{}); one.Service() == "230" {
					want = false // one leg alone has nothing to part from
				}
				require.Equal(t, want, saw, "%s %s %d: %s", name, fault, seed, c.Result().Summary)
			}
		}
	}
	for _, fault := range []string{"", "ct1-reversed", "neutral-lost"} {
		require.Equal(t, 4*len(sim.Names()), watched[fault], fault)
	}
	require.GreaterOrEqual(t, len(sim.Names()), 5)
}

// No panel whose neutral holds is said to have lost it.
func TestSoundNeutralsRaiseNoAlarm(t *testing.T) {
	tabulates(t)
	for _, service := range []string{"120/208Y", "120/240", "120/208N", "230", "480D", "120/240D"} {
		rng := rand.New(rand.NewPCG(17, 17))
		for i := range 1000 {
			site, err := sim.RandomSite(rng, service, sim.MixedLoads())
			require.NoError(t, err)
			require.NoError(t, site.Mistake(0.4))
			c := diagnose.New(diagnose.Options{Tables: tables, Service: service})
			for range 4 {
				c.Add(site.Read())
				site.Step()
				site.Drift()
			}
			r := c.Result()
			require.False(t, stopped(r), fmt.Sprint(service, i, site.Made, r.Summary))
		}
	}
}
