package gaussian

import "math"

// beyond is the number of standard deviations past which the plane's density is none.
const beyond = 12

// Line is the density at x about nothing: exp(-x^2 / 2 s^2) / (s sqrt(2 pi)), per unit of x.
func Line(x, spread float64) float64 {
	z := x / spread
	return math.Exp(-z*z/2) / (spread * math.Sqrt(2*math.Pi))
}

// Plane is the density at z about nothing, alike in all directions:
// exp(-|z|^2 / 2 s^2) / (2 pi s^2), per unit of z squared; none beyond 12 spreads.
func Plane(z complex128, spread float64) float64 { return PlaneOf(z, spread*spread) }

// PlaneOf is the same by the variance, s^2.
func PlaneOf(z complex128, variance float64) float64 {
	square := (real(z)*real(z) + imag(z)*imag(z)) / variance
	if square > beyond*beyond {
		return 0
	}
	return math.Exp(-square/2) / (2 * math.Pi * variance)
}

// Kernel is the density over cells of some width, from -reach to +reach, so that
// it sums to one.
func Kernel(reach int, width, spread float64) []float64 {
	k := make([]float64, 2*reach+1)
	var sum float64
	for i := range k {
		k[i] = Line(float64(i-reach)*width, spread)
		sum += k[i]
	}
	for i := range k {
		k[i] /= sum
	}
	return k
}
