package pulses

import (
	"math"
	"time"

	"legwork/diagnose/doubt"
)

// Power is what the light is compared with.
type Power struct {
	Watts float64
	// Deviation is one standard deviation of the mean power over the count
	// about Watts, as a share.
	Deviation float64
	// From is how many samples Deviation comes from; 0 where it was stated.
	From int

	freedom int // of the estimate of Deviation
}

// Stated is a power in W that a person gives, right within a share 95 times in 100:
// 1.96 standard deviations of a Gaussian.
func Stated(watts, within float64) Power { return Power{Watts: watts, Deviation: within / 1.96} }

// wanderFreedom is the most that samples of a wandering load know of how much
// it wanders, in degrees of freedom: what one does next hangs on what it did
// before, so more samples of the same time add little. Between that of a pure
// walk, 2.5, and of noise; set by the coverage that the tests print.
const wanderFreedom = 7

// loneDoubt is the standard deviation, as a share, that one sample alone is
// given. An assumption of ours, no source.
const loneDoubt = 0.02

// Before makes a power of samples that were taken over some time, at another
// time than the count, next to it. A load that wanders is as much further off
// as the count is longer than the samples: the means of two neighbouring spans
// of a random walk differ by sqrt(2 (1 + T/S)) times the spread within the
// first (the walk's variance in a span S is q S / 6, that of the difference
// q (S + T) / 3).
func Before(watts []float64, span, count time.Duration) Power {
	mean, deviation := doubt.Spread(watts)
	p := Power{Watts: mean, From: len(watts)}
	switch {
	case mean == 0:
	case len(watts) == 1 || span <= 0:
		p.Deviation, p.From = loneDoubt, 0
	default:
		// sqrt(q (S+T)/3) / sqrt(q S/6) = sqrt(2 (1 + T/S))
		p.Deviation = deviation / math.Abs(mean) * math.Sqrt(2*(1+count.Seconds()/span.Seconds()))
		p.freedom = min(len(watts)-1, wanderFreedom)
	}
	return p
}

// During makes a power of samples that were taken evenly over the count. Slow
// changes are in their mean; only what changes from one to the next is open.
func During(watts []float64) Power {
	if len(watts) < 3 {
		return Before(watts, 0, 0)
	}
	mean, _ := doubt.Spread(watts)
	var sum float64
	for i := range watts[1:] {
		sum += (watts[i+1] - watts[i]) * (watts[i+1] - watts[i])
	}
	p := Power{Watts: mean, From: len(watts)}
	if n := float64(len(watts)); mean != 0 {
		// Half the mean square of successive differences (von Neumann's ratio)
		// is the variance of what the samples don't share with their neighbours.
		// variance of one sample = sum/(2 (n-1)), of their mean that over n
		p.Deviation, p.freedom = math.Sqrt(sum/(2*(n-1))/n)/math.Abs(mean), len(watts)-1
	}
	return p
}

func (p Power) doubt(s *doubt.Sum) {
	if p.From > 1 {
		s.Estimated(p.Deviation, p.freedom+1)
		return
	}
	s.Normal(p.Deviation)
}
