package doubt

import "math"

// Sum is a sum of independent errors, each as likely above zero as below. The
// zero value is no error. Units are those of whoever adds to it.
type Sum struct {
	parts    []part
	variance float64 // of all Gaussian ones together
}

// part is one error that isn't Gaussian.
type part struct {
	reach          float64 // it is never larger
	variance       float64
	characteristic func(w float64) float64 // E[exp(i w x)], real since x is as likely as -x
}

// Even adds an error that is evenly spread between -limit and limit: variance
// a^2/3 (JCGM 100:2008, 4.3.7), characteristic function sin(a w)/(a w).
func (s *Sum) Even(limit float64) {
	if limit > 0 {
		s.parts = append(s.parts, part{limit, limit * limit / 3,
			func(w float64) float64 { return math.Sin(limit*w) / (limit * w) }})
	}
}

// Triangle adds the sum of two even errors, each within half the limit: what
// begins and ends at any phase of a count.
func (s *Sum) Triangle(limit float64) {
	s.Even(limit / 2)
	s.Even(limit / 2)
}

// Normal adds a Gaussian error of a standard deviation.
func (s *Sum) Normal(deviation float64) { s.variance += deviation * deviation }

// Estimated adds a Gaussian error whose standard deviation was itself estimated
// from n values: Student's factor t(n-1)/z makes up for what so few can't know, so that
// 1.96 of the wider deviation are the half-width that t gives (JCGM 100:2008, G.3).
func (s *Sum) Estimated(deviation float64, n int) {
	s.Normal(deviation * Student(n-1) / normal95)
}

// OneOf adds an error that is one of some values, each as likely, or its
// opposite: characteristic function mean of cos(x w).
func (s *Sum) OneOf(values []float64) {
	if len(values) == 0 {
		return
	}
	p := part{characteristic: func(w float64) (mean float64) {
		for _, x := range values {
			mean += math.Cos(w*x) / float64(len(values))
		}
		return mean
	}}
	for _, x := range values {
		p.reach = math.Max(p.reach, math.Abs(x))
		p.variance += x * x / float64(len(values))
	}
	s.parts = append(s.parts, p)
}

// normal95 is the Gaussian quantile at 97.5 % (any table of the distribution).
const normal95 = 1.959964

// Deviation is the standard deviation of the sum: the root of the sum of
// variances (JCGM 100:2008, 5.1.2).
func (s *Sum) Deviation() float64 {
	v := s.variance
	for _, p := range s.parts {
		v += p.variance
	}
	return math.Sqrt(v)
}

// terms of the Fourier series at most. The worst shape, one even error alone, is
// then right to a thousandth.
const terms = 600

// Half is half the width of the interval that holds 95 of 100 errors: with an
// edge E beyond which there are none, and the characteristic function c,
//
//	P(|x| < h) = h/E + sum over n of 2 c(n pi/E) sin(n pi h/E) / (n pi),
//
// the Fourier series of the density on -E to E, integrated; h is found by halving.
func (s *Sum) Half() float64 {
	edge := s.edge()
	if edge == 0 {
		return 0
	}
	weights := s.weights(edge)
	low, high := 0.0, edge
	for range 40 { // 2^-40 of the edge
		if mid := (low + high) / 2; within(mid/edge, weights) < 0.95 {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2
}

// within is P(|x| < h) at h over the edge, by sin((n+1) x) = 2 cos x sin(n x) - sin((n-1) x).
func within(share float64, weights []float64) float64 {
	sin, cos := math.Sincos(math.Pi * share)
	before, now := 0.0, sin
	for _, w := range weights {
		share += w * now
		before, now = now, 2*cos*now-before
	}
	return share
}

// edge is what the error never exceeds, or but once in 10^9 (six standard
// deviations of the Gaussian part), and a twentieth more.
func (s *Sum) edge() float64 {
	reach := 6 * math.Sqrt(s.variance)
	for _, p := range s.parts {
		reach += p.reach
	}
	return 1.05 * reach
}

// weights of the series' terms: those of a product of characteristic functions,
// as far as the Gaussian's, exp(-variance w^2/2), leaves anything.
func (s *Sum) weights(edge float64) []float64 {
	all := make([]float64, 0, terms)
	for n := 1; n <= terms; n++ {
		w := float64(n) * math.Pi / edge
		if s.variance*w*w/2 > 40 { // 4e-18, below what is added to
			break
		}
		c := math.Exp(-s.variance * w * w / 2)
		for _, p := range s.parts {
			c *= p.characteristic(w)
		}
		all = append(all, 2*c/(float64(n)*math.Pi))
	}
	return all
}

// student holds the quantiles of Student's t at 97.5 % for 1 to 30 degrees of
// freedom (any table of the distribution).
var student = [...]float64{12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228, 2.201, 2.179, 2.160,
	2.145, 2.131,
	2.120, 2.110, 2.101, 2.093, 2.086, 2.080, 2.074, 2.069, 2.064, 2.060, 2.056, 2.052, 2.048, 2.045, 2.042}

// Student is the quantile of Student's t at 97.5 %, for 1 degree of freedom or
// more; for fewer there is none, and that of 1 is given.
func Student(freedom int) float64 {
	freedom = max(freedom, 1)
	if freedom <= len(student) {
		return student[freedom-1]
	}
	// z + (z^3 + z)/(4 n) + (5 z^5 + 16 z^3 + 3 z)/(96 n^2), the expansion for many degrees
	// of freedom n (Abramowitz and Stegun, 26.7.5, from memory), is z + 2.37/n + 2.8/n^2;
	// 2.45/n for both is right to 0.002 from 31 on.
	return normal95 + 2.45/float64(freedom)
}

// Spread gives the mean of some values and their standard deviation about it,
//
//	s^2 = sum (x - mean)^2 / (n - 1)
//
// (JCGM 100:2008, 4.2.2); both are 0 where there are none; the deviation is 0 for one.
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
