package pulses

import (
	"math"

	"legwork/diagnose/doubt"
)

// Power is what the light is compared with.
type Power struct {
	Watts float64
	// Deviation is one standard deviation of the mean power over the count
	// about Watts, as a share.
	Deviation float64
	// From is how many samples tell Deviation; 0 where it was stated.
	From int
}

// Stated is a power that a person gives, right within a share 95 times in 100.
func Stated(watts, within float64) Power { return Power{Watts: watts, Deviation: within / 1.96} }

// loneDoubt is the standard deviation, as a share, that one sample alone is
// given. An assumption of ours, no source.
const loneDoubt = 0.02

// Before makes a power of samples that were taken at another time than the
// count: the load then may have been anywhere among them.
func Before(watts []float64) Power {
	mean, deviation := doubt.Spread(watts)
	p := Power{Watts: mean, From: len(watts)}
	switch {
	case mean == 0:
	case len(watts) == 1:
		p.Deviation, p.From = loneDoubt, 0
	default:
		p.Deviation = deviation / math.Abs(mean) * math.Sqrt(1+1/float64(len(watts)))
	}
	return p
}

// During makes a power of samples that were taken evenly over the count. Slow
// changes are in their mean; only what changes from one to the next is open.
func During(watts []float64) Power {
	if len(watts) < 3 {
		return Before(watts)
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
		p.Deviation = math.Sqrt(sum/(2*(n-1))/n) / math.Abs(mean)
	}
	return p
}

func (p Power) doubt(s *doubt.Sum) {
	if p.From > 1 {
		s.Estimated(p.Deviation, p.From)
		return
	}
	s.Normal(p.Deviation)
}
