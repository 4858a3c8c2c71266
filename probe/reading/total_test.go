package reading

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestWattsIsTheTotalOrTheSumOfAll(t *testing.T) {
	two := []Channel{{Power: Known(100.0)}, {Power: Known(-30.0)}}
	sum := Reading{Channels: two}
	require.Equal(t, Known(70.0), sum.Watts())
	total := Reading{Channels: two, TotalPower: Known(71.0)}
	require.Equal(t, Known(71.0), total.Watts())
	part := Reading{Channels: []Channel{{Power: Known(100.0)}, {}}}
	require.False(t, part.Watts().Known(), "a channel without power leaves the sum unknown")
	require.False(t, (&Reading{}).Watts().Known())
}
