package diagnose_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/probe/reading"
	"legwork/sim"
)

// Over every simulated fault: the word beside a channel fits its numbers. None agrees
// whose power is negative because of how it is wired, or whose voltage isn't its leg's;
// none is without voltage that reads one.
func TestStatesFitTheNumbersBesideThem(t *testing.T) {
	tabulates(t)
	rng := rand.New(rand.NewPCG(71, 72))
	faults := []string{"", "ct1-reversed", "ct1-ct2-crossed", "cts-rolled", "cts-reversed", "ct2-on-leg1",
		"v1-v2-crossed", "v2-dead",
		"v3-dead", "v2-on-leg1", "vn-v1-crossed", "vn-v2-crossed", "v1-low", "v2-low", "neutral-lost", "ct1-open",
		"ct2-half-ratio",
		"ct1-on-neutral", "v2-low,ct1-reversed", "v1-v2-crossed,ct3-reversed"}
	looked := 0
	for _, service := range []string{"120/208Y", "120/240", "120/208N", "230", "480D", "120/240D"} {
		for _, fault := range faults {
			for range 12 {
				site, err := sim.RandomSite(rng, service, sim.MixedLoads())
				require.NoError(t, err)
				if site.Make(fault) != nil {
					continue
				}
				r := site.Read()
				got := diagnose.Diagnose([]reading.Reading{r}, diagnose.Options{Tables: tables, Service: service})
				site.Wiring = sim.RightWiring(site.Panel.Supply)
				right := site.Read()
				for k, c := range got.Channels {
					looked++
					volts, nominal := c.Voltage.Or(0), right.Channels[k].Voltage.Or(0)
					switch c.State {
					case diagnose.StateAgrees:
						explained := c.Power.Or(0) < -1 && right.Channels[k].Power.Or(0) > 1
						assert.False(t, explained, "%s %s: channel %d agrees at %.0f W: %s", service, fault, k+1,
							c.Power.Or(0), got.Summary)
						assert.Greater(t, volts, 0.78*nominal, "%s %s: channel %d agrees at %.1f V: %s", service,
							fault, k+1, volts, got.Summary)
						assert.Less(t, volts, 1.22*nominal, "%s %s: channel %d agrees at %.1f V: %s", service, fault,
							k+1, volts, got.Summary)
					case diagnose.StateNoVoltage:
						assert.Less(t, volts, 0.15*nominal, "%s %s: channel %d has no voltage at %.1f V: %s", service,
							fault, k+1, volts, got.Summary)
					}
				}
			}
		}
	}
	require.Greater(t, looked, 1500)
}
