package pulses

import (
	"errors"
	"fmt"
	"time"

	"legwork/diagnose/doubt"
)

// Count is what a person counted.
type Count struct {
	// N intervals between pulses, where the watch was started and stopped at
	// pulses; else the number of pulses that were counted.
	N    int
	Over time.Duration
	// AtPulses says that the watch was started at a pulse, counted as none, and
	// stopped at the last. Then the count itself is exact.
	AtPulses bool
}

// Longest and most that a person counts. Our choice, no source.
const (
	mostPulses = 1_000_000
	longest    = 7 * 24 * time.Hour
)

var errNoInterval = errors.New("one pulse has no length; tap at two or more")

// Check refuses what can't have been counted.
func (c Count) Check() error {
	switch {
	case c.N < 1 || c.N > mostPulses:
		return fmt.Errorf("a count of %d: at least 1 pulse, at most %d", c.N, mostPulses)
	case c.Over <= 0 || c.Over > longest:
		return fmt.Errorf("a time of %s: above 0 and at most %s", c.Over, longest)
	case float64(c.N) > 50*c.Over.Seconds():
		return fmt.Errorf("%d pulses in %s are more than an eye can count", c.N, c.Over)
	}
	return nil
}

// Taps makes a count of the times at which a key was struck, one a pulse, the
// first included. The error is that there are fewer than two.
func Taps(at []time.Time) (Count, error) {
	if len(at) < 2 {
		return Count{}, errNoInterval
	}
	c := Count{N: len(at) - 1, Over: at[len(at)-1].Sub(at[0]), AtPulses: true}
	return c, c.Check()
}

// DefaultTiming is what the hand may be off by, at the start and the stop
// together, 95 times in 100. An assumption of ours, no source.
const DefaultTiming = 300 * time.Millisecond

// doubt adds what a count of n over so many seconds leaves open, as a share of
// its rate. hand is in seconds, 95 times in 100.
func (c Count) doubt(s *doubt.Sum, hand float64) {
	if !c.AtPulses { // the open parts of an interval at both ends: two even errors, one pulse at most together
		s.Triangle(1 / float64(c.N))
	}
	// A rate n/t is off by the share that t is: dt/t.
	s.Normal(hand / 1.96 / c.Over.Seconds())
}
