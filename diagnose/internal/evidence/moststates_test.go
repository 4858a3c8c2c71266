package evidence

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"
)

// A bound on the states bounds what a history keeps, whatever comes and goes.
func TestMostStates(t *testing.T) {
	for _, most := range []int{2, 8, 16, 0} {
		t.Run(fmt.Sprint(most), func(t *testing.T) {
			h := NewHistory(most)
			bound := most
			if most == 0 {
				bound = mostStates
			}
			for i := range 400 {
				now := [3]Observation{}
				amps := float64(10 + i%40)
				now[0] = Observation{N: 1, Current: Current{120, amps}, Working: amps}
				h.Add(now, 15)
				require.LessOrEqual(t, len(h.States), bound)
			}
			require.Len(t, h.States, bound)
		})
	}
}
