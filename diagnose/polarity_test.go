package diagnose_test

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
	"legwork/sim"
)

// A power factor whose sign says nothing of power reads the same with a CT turned round,
// however often it is read: only a look at the arrows says that the wiring agrees.
func TestPowerFactorAloneLeavesPolarityOpen(t *testing.T) {
	agree := func(looks ...int) (n, asks int) {
		rng := rand.New(rand.NewPCG(71, 71))
		o := diagnose.Options{Tables: tables, Service: "120/208Y"}
		for _, k := range looks {
			o.Findings = append(o.Findings, wiring.Finding{Test: wiring.Look, Channel: k, Outcome: wiring.ArrowRight})
		}
		for range 20 {
			site, err := sim.RandomSite(rng, "120/208Y", sim.LightLoads())
			require.NoError(t, err)
			c := diagnose.New(o)
			for range 11 {
				c.Add(factorsAlone(site.Read()))
				site.Step()
			}
			if r := c.Result(); r.Verdict == diagnose.Agrees {
				n++
			} else if r.Verdict == diagnose.Undecided {
				require.NotEmpty(t, r.NextTests)
				asked := fmt.Sprint(r.NextTests)
				if strings.Contains(asked, "Look at the arrow") {
					asks++
				}
				require.NotContains(t, asked, "rises or falls") // no register would show it
				require.NotContains(t, asked, "capacitor bank") // nor this
			}
		}
		return n, asks
	}
	agreed, asked := agree()
	require.Zero(t, agreed)
	require.Greater(t, asked, 17) // in place of a load step that shows no power
	agreed, asked = agree(1, 2, 3)
	require.Greater(t, agreed, 6) // of them 6 once agreed without a look
	require.Zero(t, asked)
}

// Nor is it said of crossed CTs that they are also turned: the readings would be the same.
func TestPowerFactorAloneTurnsNothing(t *testing.T) {
	rng := rand.New(rand.NewPCG(72, 72))
	for range 40 {
		site, err := sim.RandomSite(rng, "120/208Y", sim.MixedLoads())
		require.NoError(t, err)
		require.NoError(t, site.Make("ct1-ct2-crossed"))
		c := diagnose.New(diagnose.Options{Tables: tables, Service: "120/208Y"})
		for range 11 {
			c.Add(factorsAlone(site.Read()))
			site.Step()
		}
		if r := c.Result(); r.Verdict == diagnose.Fault {
			require.True(t, matches(r.Explanations[0], [][3]ctPlace{placesOf(site.Truth(), 3)}), r.Summary)
		}
	}
}

// factorsAlone is a reading of a meter that gives power factors, and not what their sign says.
func factorsAlone(r reading.Reading) reading.Reading {
	for k, was := range r.Channels {
		r.Channels[k] = reading.Channel{Voltage: was.Voltage, Current: was.Current,
			PowerFactor: reading.Known(was.Power.Or(0) / (was.Voltage.Or(1) * was.Current.Or(1)))}
	}
	return r
}
