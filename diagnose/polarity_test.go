package diagnose_test

import (
	"math/rand/v2"
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
	agree := func(looks ...int) (n int) {
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
				r := site.Read()
				for k, was := range r.Channels {
					r.Channels[k] = reading.Channel{Voltage: was.Voltage, Current: was.Current,
						PowerFactor: reading.Known(was.Power.Or(0) / (was.Voltage.Or(1) * was.Current.Or(1)))}
				}
				c.Add(r)
				site.Step()
			}
			if r := c.Result(); r.Verdict == diagnose.Agrees {
				n++
			} else if r.Verdict == diagnose.Undecided {
				require.NotEmpty(t, r.NextTests)
			}
		}
		return n
	}
	require.Zero(t, agree())
	require.Greater(t, agree(1, 2, 3), 6) // 6 of them once agreed without a look
}
