package sim

import (
	"math"
	"math/cmplx"
)

// Current is the current of a conductor: rms phasors in A at the fundamental
// and at two harmonics.
type Current struct {
	Fundamental, Third, Fifth complex128
}

// RMS is the true effective value in A. Harmonics add to it, though not to the
// power, as the voltage has none.
func (c Current) RMS() float64 {
	return math.Sqrt(square(c.Fundamental) + square(c.Third) + square(c.Fifth))
}

func (c Current) plus(d Current) Current {
	return Current{c.Fundamental + d.Fundamental, c.Third + d.Third, c.Fifth + d.Fifth}
}

func (c Current) times(x float64) Current {
	z := complex(x, 0)
	return Current{c.Fundamental * z, c.Third * z, c.Fifth * z}
}

// led turns the fundamental ahead by degrees; harmonics keep their size, and
// nothing here depends on their angles any more.
func (c Current) led(by float64) Current {
	c.Fundamental *= turn(by)
	return c
}

// harmonic gives a phasor of effective value rms at n times the angle of v: the
// position of the n-th harmonic of a rectifier behind v.
func harmonic(v complex128, n int, rms float64) complex128 {
	return cmplx.Rect(rms, float64(n)*cmplx.Phase(v))
}

func square(z complex128) float64 { return real(z)*real(z) + imag(z)*imag(z) }
