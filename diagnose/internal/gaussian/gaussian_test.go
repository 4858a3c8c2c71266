package gaussian

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// The standard normal density at 0 and 1: tables, e.g. NIST/SEMATECH e-Handbook, 1.3.6.7.1 (from memory).
func TestDensities(t *testing.T) {
	require.InDelta(t, 0.398942, Line(0, 1), 1e-6)
	require.InDelta(t, 0.241971, Line(1, 1), 1e-6)
	require.InDelta(t, Line(3, 2)*Line(4, 2), Plane(complex(3, 4), 2), 1e-12)
	require.Zero(t, Plane(complex(13, 0), 1))
	var line, plane, cells float64
	for x := -80.0; x <= 80; x++ {
		line += Line(x/10, 0.7) / 10
		for y := -80.0; y <= 80; y++ {
			plane += Plane(complex(x/10, y/10), 0.7) / 100
		}
	}
	require.InDelta(t, 1, line, 1e-9)
	require.InDelta(t, 1, plane, 1e-9)
	for _, p := range Kernel(6, 5, 7) {
		cells += p
	}
	require.InDelta(t, 1, cells, 1e-12)
	require.Less(t, math.Abs(Kernel(6, 5, 7)[0]-Kernel(6, 5, 7)[12]), 1e-15)
}
