package diagnose_test

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/sim"
)

// A four-wire delta one input of which is dead or low, the high leg's or another: the leg
// that is high is found all the same, and no other input is blamed.
func TestInputsOfAHighLegDelta(t *testing.T) {
	tabulates(t)
	for _, state := range []string{"dead", "low"} {
		for input := 1; input <= 3; input++ {
			rng := rand.New(rand.NewPCG(61, uint64(input)))
			blamed := 0
			const panels = 60
			for range panels {
				b := belief{loads: sim.MixedLoads(), fault: fmt.Sprintf("v%d-%s", input, state)}
				r := diagnose.Diagnose(b.reads(t, b.site(t, rng, "120/240D")), diagnose.Options{Tables: tables, Service: "120/240D"})
				require.NotEqual(t, diagnose.Agrees, r.Verdict)
				if r.Verdict != diagnose.Fault {
					continue
				}
				for _, v := range r.Explanations[0].Voltage {
					require.Equal(t, v.Channel == input, string(v.State) == state, "input %d %s: %s", input, state, r.Summary)
				}
				blamed++
			}
			t.Logf("input %d %s: blamed in %d of %d", input, state, blamed, panels)
			require.GreaterOrEqual(t, blamed, 45)
		}
	}
}
