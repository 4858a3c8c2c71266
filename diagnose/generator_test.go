package diagnose_test

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/sim"
)

// A generator that gives or takes vars beside its power, as an inverter set to a power
// factor of 0.9 or a small genset does: 15 to 35 degrees from unity, either way.
func TestWorldsGeneratorsWithVars(t *testing.T) {
	tabulates(t)
	t.Log(toldHead)
	for _, c := range []struct {
		declared diagnose.Generation
		called   float64 // at most
	}{
		// One that gives vars reads like loads that lag behind CTs turned round: of one look
		// that nothing was said of, prior alone tells them apart.
		{diagnose.GenerationUnknown, 0.24},
		{diagnose.GenerationPossible, 0.005},
	} {
		declared := c.declared
		var all told
		for i, loads := range []sim.Mix{sim.MixedLoads(), sim.MotorLoads(), sim.HeatLoads()} {
			for _, way := range []float64{-1, 1} {
				b := belief{loads: sim.Exporting(loads, 0.8, 4)}
				rng := rand.New(rand.NewPCG(71, uint64(i)))
				var part told
				for panel := range 100 {
					site := b.site(t, rng, wyes[panel%len(wyes)])
					for l := range site.Panel.Loads {
						if g := &site.Panel.Loads[l]; g.Kind == sim.Generation {
							g.Lag = 180 + way*(15+20*rng.Float64())
						}
					}
					o := diagnose.Options{Tables: tables, Generation: declared}
					part.add(diagnose.Diagnose(b.reads(t, site), o), site.Truth(), true, rightlyWired)
				}
				t.Log(part.row(fmt.Sprintf("generator %+.0f, loads %d, generation %s", way, i, declared)))
				all = all.plus(part)
			}
		}
		t.Log(all.row(fmt.Sprintf("generator with vars, generation %s", declared)))
		atMost(t, c.called, all.called, all.panels, "a wrong wiring called")
		require.Zero(t, all.silent)
	}
}
