package loadstep

import (
	"math"
	"math/cmplx"
	"time"

	"legwork/diagnose/internal/evidence"
	"legwork/probe/reading"
)

// Step is a change of load, from one state that stayed to another.
type Step struct {
	At      time.Time
	Changes []Change // of the channels that took it, in their order; at least one
	Rewired bool     // moved conductors could have made it
}

// Change is what one channel saw of a step.
type Change struct {
	Channel int                          // from 1
	Amps    float64                      // A: the size of the change, of the phasor where that is known
	Rise    float64                      // A, by which the current rose
	Watts   reading.Value                // by which the power rose
	Volts   float64                      // V before; 0 where it isn't known
	Angle   reading.Maybe[reading.Angle] // of the load as one that came on, behind the channel's own voltage
	Turned  float64                      // degrees, by which the current's angle went; 0 where it isn't known

	least float64 // A: a change that may be none
}

// Our choice, no source.
const (
	smallShare = 0.2  // of the largest change: what else moves with it, by the voltage, is less
	rivalTurn  = 40.0 // degrees: an angle that jumps further may be a moved conductor
	jumpRise   = 0.3  // of the change's size: a current that rises by more is a load
)

// stepTo is the change from the follower's base to a state.
func (f *Follower) stepTo(to *evidence.State) Step {
	s := Step{At: f.at}
	var all []Change
	var most float64
	for k := range to.Observed {
		c := changeOf(&f.base.Observed[k], &to.Observed[k])
		c.Channel, c.least = k+1, f.base.Least(to, k, f.Fine)
		s.Rewired = s.Rewired || f.rewired(&f.base.Observed[k], &to.Observed[k])
		if c.Amps > c.least {
			all, most = append(all, c), max(most, c.Amps)
		}
	}
	for _, c := range all {
		if c.Amps >= smallShare*most {
			s.Changes = append(s.Changes, c)
		}
	}
	if !s.On() {
		for i := range s.Changes {
			c := &s.Changes[i]
			c.Angle = c.Angle.Map(reading.Angle.Opposite)
		}
	}
	return s
}

// changeOf measures the change of one channel. Its phasor is I' - I, and the load's
// angle behind the channel's own voltage is -arg(I' - I).
func changeOf(from, to *evidence.Observation) Change {
	if !from.AmpsKnown || !to.AmpsKnown {
		return Change{}
	}
	c := Change{Amps: math.Abs(to.Amps - from.Amps), Rise: to.Amps - from.Amps, Volts: from.Volts, Turned: turned(from, to)}
	before, okBefore := from.Phasor()
	after, okAfter := to.Phasor()
	if okBefore && okAfter {
		c.Amps = cmplx.Abs(after - before)
		c.Angle = reading.Known(reading.Degrees(-cmplx.Phase(after-before) * 180 / math.Pi))
	}
	if was, ok := watts(from).Get(); ok {
		c.Watts = watts(to).Map(func(w float64) float64 { return w - was })
	}
	return c
}

// watts is the power as it was measured, or V I cos theta.
func watts(o *evidence.Observation) reading.Value {
	z, known := o.Phasor()
	if o.MeanWatts.Known() || !known || o.Volts <= 0 {
		return o.MeanWatts
	}
	return reading.Known(o.Volts * real(z))
}

// turned is how far the angle of a current went, in degrees.
func turned(from, to *evidence.Observation) float64 {
	if from.N != 1 || to.N != 1 {
		return 0
	}
	return reading.Degrees(to.Candidates[0].Theta - from.Candidates[0].Theta).Abs()
}

// rewired reports what moved conductors could have done to a channel: its angle went
// far, its current began, or its voltage came back.
func (f *Follower) rewired(from, to *evidence.Observation) bool {
	least := f.MinCurrent
	return turned(from, to) > rivalTurn && min(from.Amps, to.Amps) >= least ||
		from.AmpsKnown && to.AmpsKnown && from.Amps < least && to.Amps >= least || from.Volts < to.Volts/2
}

// On reports that more current flows than before: a load came on.
func (s *Step) On() bool {
	var sum float64
	for _, c := range s.Changes {
		sum += c.Rise
	}
	return sum > 0
}

// Jumped reports angles that went without the sizes: no load does that.
func (s *Step) Jumped() bool {
	for _, c := range s.Changes {
		if c.Turned < rivalTurn || math.Abs(c.Rise) > jumpRise*c.Amps {
			return false
		}
	}
	return true
}

// along says whether a change of so many amperes along a voltage, of a step's size,
// goes with it or against it; known is false where it is near 90 degrees, or within
// two standard deviations of noise.
func (c *Change) along(amps float64) (with, known bool) {
	return amps > 0, math.Abs(amps) > max(evidence.Plainly*c.Amps, 2*c.least/evidence.ChangeSigmas)
}

// powerRose says whether the power of the channel rose, by what it read.
func (c *Change) powerRose() (up, known bool) {
	watts, ok := c.Watts.Get()
	if !ok || c.Volts <= 0 {
		return false, false
	}
	return c.along(watts / c.Volts)
}
