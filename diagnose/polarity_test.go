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
