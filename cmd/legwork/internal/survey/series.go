package survey

import (
	"cmp"
	"math"
	"time"

	"legwork/probe/reading"
)

// series is the power of one meter from reading to reading.
type series struct {
	whole reading.Reading // the last one
	last  reading.Value
	at    time.Time
	steps int
	sum   float64 // of squares of the steps, W2
}

func (s *series) add(r *reading.Reading) {
	p := PowerOf(r)
	was, before := s.last.Get()
	if is, now := p.Get(); before && now {
		s.steps++
		s.sum += (is - was) * (is - was)
	}
	s.whole, s.last, s.at = *r, p, r.At
}

// spread is the deviation from one reading to the next, W; 0 where there were
// too few to tell.
func (s *series) spread() float64 {
	if s.steps < 2 {
		return 0
	}
	return math.Sqrt(s.sum / float64(s.steps))
}

// PowerOf is what a meter registers: the sum of its channels, else its total.
func PowerOf(r *reading.Reading) reading.Value {
	sum := sumOf(r.Channels, func(c reading.Channel) reading.Value { return c.Power })
	return cmp.Or(sum, r.TotalPower)
}
