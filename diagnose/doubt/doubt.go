package doubt

import "math"

// Sum is a sum of independent errors, each as likely above zero as below. The
// zero value is no error. Units are those of whoever adds to it.
type Sum struct {
	even     []float64 // limits
	triangle []float64 // limits
	variance float64   // of all normal ones
	one      [][]float64
}

// Even adds an error that is evenly spread between -limit and limit.
func (s *Sum) Even(limit float64) {
	if limit > 0 {
		s.even = append(s.even, limit)
	}
}

// Triangle adds the sum of two even errors, each within half the limit: what
// begins and ends at any phase of a count.
func (s *Sum) Triangle(limit float64) {
	if limit > 0 {
		s.triangle = append(s.triangle, limit)
	}
}

// Normal adds a normal error of a standard deviation.
func (s *Sum) Normal(deviation float64) { s.variance += deviation * deviation }

// Estimated adds a normal error whose standard deviation was itself estimated
// from n values: Student's factor makes up for what so few can't know.
func (s *Sum) Estimated(deviation float64, n int) {
	s.Normal(deviation * Student(n-1) / normal95)
}

// OneOf adds an error that is one of some values, each as likely, or its opposite.
func (s *Sum) OneOf(values []float64) {
	if len(values) > 0 {
		s.one = append(s.one, values)
	}
}

// normal95 is the normal quantile at 97.5 %.
const normal95 = 1.959964

// Deviation is the standard deviation of the sum.
func (s *Sum) Deviation() float64 {
	v := s.variance
	for _, a := range s.even {
		v += a * a / 3
	}
	for _, a := range s.triangle {
		v += a * a / 6
	}
	for _, values := range s.one {
		for _, x := range values {
			v += x * x / float64(len(values))
		}
	}
	return math.Sqrt(v)
}

// terms of the Fourier series. The worst shape, one even error alone, is then
// right to a thousandth.
const terms = 600

// Half is half the width of the interval that holds 95 of 100 errors.
func (s *Sum) Half() float64 {
	edge := s.reach()
	if edge == 0 {
		return 0
	}
	var weight [terms]float64
	for n := range weight {
		w := float64(n+1) * math.Pi / edge
		weight[n] = 2 * s.characteristic(w) / (float64(n+1) * math.Pi)
	}
	within := func(h float64) float64 {
		p := h / edge
		sin, cos := math.Sincos(math.Pi * h / edge)
		before, now := 0.0, sin // sin((n+1) x) = 2 cos x sin(n x) - sin((n-1) x)
		for _, w := range weight {
			p += w * now
			before, now = now, 2*cos*now-before
		}
		return p
	}
	low, high := 0.0, edge
	for range 40 {
		if mid := (low + high) / 2; within(mid) < 0.95 {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2
}

// reach is beyond what the error can be, or is but once in 10^9.
func (s *Sum) reach() float64 {
	reach := 6 * math.Sqrt(s.variance)
	for _, a := range s.even {
		reach += a
	}
	for _, a := range s.triangle {
		reach += a
	}
	for _, values := range s.one {
		most := 0.0
		for _, x := range values {
			most = math.Max(most, math.Abs(x))
		}
		reach += most
	}
	return 1.05 * reach
}

// characteristic is the characteristic function of the sum at w: the product of
// those of its parts.
func (s *Sum) characteristic(w float64) float64 {
	c := math.Exp(-s.variance * w * w / 2)
	for _, a := range s.even {
		c *= sinc(a * w)
	}
	for _, a := range s.triangle {
		c *= sinc(a*w/2) * sinc(a*w/2)
	}
	for _, values := range s.one {
		sum := 0.0
		for _, x := range values {
			sum += math.Cos(w * x)
		}
		c *= sum / float64(len(values))
	}
	return c
}

func sinc(x float64) float64 {
	if math.Abs(x) < 1e-9 {
		return 1
	}
	return math.Sin(x) / x
}

// student holds the quantiles of Student's t at 97.5 % for 1 to 30 degrees of
// freedom (any table of the distribution).
var student = [...]float64{12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228, 2.201, 2.179, 2.160, 2.145, 2.131,
	2.120, 2.110, 2.101, 2.093, 2.086, 2.080, 2.074, 2.069, 2.064, 2.060, 2.056, 2.052, 2.048, 2.045, 2.042}

// Student is the quantile of Student's t at 97.5 %, for 1 degree of freedom or
// more; for fewer there is none, and that of 1 is given.
func Student(freedom int) float64 {
	freedom = max(freedom, 1)
	if freedom <= len(student) {
		return student[freedom-1]
	}
	return normal95 + 2.45/float64(freedom) // right to 0.002 from 31 on
}

// Spread gives the mean of some values and their standard deviation about it,
// over n - 1; both are 0 of none, and the deviation is of one.
func Spread(x []float64) (mean, deviation float64) {
	if len(x) == 0 {
		return 0, 0
	}
	for _, v := range x {
		mean += v / float64(len(x))
	}
	if len(x) == 1 {
		return mean, 0
	}
	var sum float64
	for _, v := range x {
		sum += (v - mean) * (v - mean)
	}
	return mean, math.Sqrt(sum / float64(len(x)-1))
}
