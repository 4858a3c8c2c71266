package learn

import (
	"math"
	"slices"
)

// gaussian is the density of a Gaussian about nothing, with a floor: no number is impossible.
func gaussian(x, sigma float64) float64 {
	return math.Exp(-x*x/(2*sigma*sigma))/(sigma*2.5066283) + 1e-12
}

func median(x []float64) float64 {
	sorted := slices.Clone(x)
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
