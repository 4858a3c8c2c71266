package loadstep

import (
	"time"

	"legwork/diagnose/internal/evidence"
	"legwork/probe/reading"
)

// Follower tells of changes of load from readings in order of time. A meter that
// averages shows a change in parts, so it is told once the load has stayed. The zero
// value is ready; it keeps a few states, however long it follows.
type Follower struct {
	// Fine has it learn how still the readings are, so that a load of an ampere shows
	// beside a hundred.
	Fine bool
	// MinCurrent in A: the angle of a smaller current says nothing of moved conductors.
	MinCurrent float64

	history evidence.History
	base    evidence.State // the last one that stayed
	at      time.Time      // of the last reading
}

// keptStates is enough to come back to one after a blip.
const keptStates = 3

// Add takes a reading. It gives a step once, with the reading by which it has stayed.
func (f *Follower) Add(r reading.Reading) (step Step, ok bool) {
	var now [reading.MaxChannels]evidence.Observation
	for k := range min(len(r.Channels), len(now)) {
		now[k] = evidence.Limits{}.Observe(r.Channels[k]).Single()
	}
	f.history.Fine = f.Fine
	f.history.Add(now, evidence.Seconds(f.at, r.At))
	f.history.Keep(keptStates)
	f.at = r.At
	latest := f.history.Latest()
	switch {
	case f.base.Number == 0 || f.base.Number == latest.Number:
		f.base = *latest
		return Step{}, false
	case !latest.Settled():
		return Step{}, false
	}
	step = f.stepTo(latest)
	f.base = *latest
	return step, len(step.Changes) > 0
}

// Steady reports a level that a step can be seen against.
func (f *Follower) Steady() bool {
	return f.base.Number != 0 && f.base.Number == f.history.Latest().Number && f.base.Steady(f.Fine)
}
