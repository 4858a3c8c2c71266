package diagnose

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"
)

// A bound on the states bounds what a case keeps, whatever comes and goes.
func TestMostStates(t *testing.T) {
	for _, most := range []int{2, 8, 16} {
		t.Run(fmt.Sprint(most), func(t *testing.T) {
			c := New(Options{MostStates: most})
			for i := range 400 {
				now := [3]sight{}
				now[0] = sight{n: 1, amps: float64(10 + i%40), volts: 120}
				c.history.add(now, 15)
				require.LessOrEqual(t, len(c.history.states), most)
			}
			require.Len(t, c.history.states, most)
		})
	}
	require.Equal(t, mostStates, New(Options{}).history.most)
}
