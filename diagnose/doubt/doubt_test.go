package doubt

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
)

// Shapes whose half-width is known by integration.
func TestHalfWidthOfKnownShapes(t *testing.T) {
	var even, triangle, normal, two, none Sum
	even.Even(1)
	triangle.Triangle(1)
	normal.Normal(1)
	two.Even(0.5)
	two.Even(0.5)
	require.InDelta(t, 0.95, even.Half(), 0.002)
	require.InDelta(t, 1-math.Sqrt(0.05), triangle.Half(), 0.001)
	require.InDelta(t, 1.959964, normal.Half(), 0.001)
	require.InDelta(t, triangle.Half(), two.Half(), 1e-6)
	require.Zero(t, none.Half())
	require.InDelta(t, 1/math.Sqrt(3), even.Deviation(), 1e-12)
}

// The interval of a mixture holds 95 of 100 draws, within what 200,000 draws can tell.
func TestHalfWidthHoldsWhatItSays(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	for _, c := range []struct{ even, triangle, normal float64 }{{1, 0, 0.1}, {1, 0, 1}, {0.3, 1, 0.2}, {1, 1, 0},
		{0.01, 0, 1}} {
		var s Sum
		s.Even(c.even)
		s.Triangle(c.triangle)
		s.Normal(c.normal)
		h, in := s.Half(), 0
		const n = 200_000
		for range n {
			e := c.even*(2*rng.Float64()-1) + c.triangle*(rng.Float64()-rng.Float64()) + c.normal*rng.NormFloat64()
			if math.Abs(e) <= h {
				in++
			}
		}
		require.InDelta(t, 0.95, float64(in)/n, 0.002, "%+v", c)
	}
}

// One of a few values, blurred by another error.
func TestHalfWidthOfOneOfSome(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 2))
	values := []float64{-1, 0.2, 0.3, 0.5}
	var s Sum
	s.OneOf(values)
	s.OneOf(nil)
	s.Even(0.4)
	h, in := s.Half(), 0
	const n = 200_000
	for range n {
		sign := float64(2*rng.IntN(2) - 1)
		if math.Abs(sign*values[rng.IntN(4)]+0.4*(2*rng.Float64()-1)) <= h {
			in++
		}
	}
	require.InDelta(t, 0.95, float64(in)/n, 0.003)
	require.InDelta(t, math.Sqrt((1+0.04+0.09+0.25)/4+0.16/3), s.Deviation(), 1e-12)
}

// Quantiles of Student's t, from the tables of any textbook.
func TestStudent(t *testing.T) {
	require.InDelta(t, 12.706, Student(0), 1e-9)
	require.InDelta(t, 2.776, Student(4), 1e-9)
	require.InDelta(t, 2.021, Student(40), 0.002)
	require.InDelta(t, 1.984, Student(100), 0.002)
}

func TestSpread(t *testing.T) {
	mean, deviation := Spread([]float64{2, 4, 4, 4, 5, 5, 7, 9})
	require.InDelta(t, 5, mean, 1e-12)
	require.InDelta(t, math.Sqrt(32.0/7), deviation, 1e-12)
	mean, deviation = Spread([]float64{3})
	require.Equal(t, []float64{3, 0}, []float64{mean, deviation})
	mean, deviation = Spread(nil)
	require.Equal(t, []float64{0, 0}, []float64{mean, deviation})
}
