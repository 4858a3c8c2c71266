package learn

import (
	"math"
	"slices"
)

// gaussian is the density of a Gaussian about nothing, with a floor: no number is impossible.
func gaussian(x, sigma float64) float64 {
	z := x / sigma
	if z *= z; z > farAway {
		return 1e-12
	}
	return math.Exp(-z/2)/(sigma*2.5066283) + 1e-12
}

// farAway is the square of so many spreads that the floor is all there is.
const farAway = 90

// fewRounds are so many that their numbers fit on the stack.
const fewRounds = 16

func median(x []float64) float64 {
	var room [fewRounds]float64
	sorted := append(room[:0], x...)
	slices.Sort(sorted)
	return sorted[len(sorted)/2]
}

// unrest is the size of the changes from round to round, against the mean size.
func unrest(x []float64) float64 {
	squares, size := 0., 0.
	for r, y := range x {
		size += math.Abs(y) / float64(len(x))
		if r > 0 {
			squares += (y - x[r-1]) * (y - x[r-1]) / float64(len(x)-1)
		}
	}
	if size == 0 {
		return 0
	}
	return math.Sqrt(squares) / size
}
