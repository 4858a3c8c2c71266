package evidence

import "math"

// A state is a stretch of time in which the load did not change: its readings
// are one piece of evidence. A change from one state to the next is another.

// State is the mean of a stretch's readings.
type State struct {
	Number   int // of the states of its History, as they began, from 1
	n        int
	lasted   float64 // s, up to the reading that came last
	Observed [3]Observation
	// Edges are what it read when it began, and when it was last read: a change of
	// load is taken from the end of one state to the beginning of the next, so that
	// drift and changes too small to be one don't count with it.
	Edges [2][3]End
	// repeats marks a state that was entered by a change seen before, up to
	// its sign: a load that cycles is one piece of evidence, not one each time.
	Repeats bool
	jitter  [3]float64 // A: how far readings lie apart that follow on each other; of a fine History
}

// The edges of a state.
const (
	Opening = iota
	Closing
)

// newState begins a state with a reading's observed.
func (h *History) newState(now [3]Observation) State {
	h.begun++
	s := State{Number: h.begun, n: 1, Observed: now}
	for k := range now {
		s.Edges[Opening][k] = now[k].end()
	}
	s.Edges[Closing] = s.Edges[Opening]
	return s
}

// What of a current may be noise from one reading to the next. Assumptions of
// ours: a meter of class 1 repeats to a few thousandths. What changes by less than
// ChangeSigmas standard deviations is taken not to have changed.
const (
	currentNoise = 0.006 // share
	leastNoise   = 0.03  // A
	cosineError  = 0.004 // of P / V I: three errors, and of different instants; not measured
	ChangeSigmas = 5.0
	mostStates   = 200 // that are weighed; by then everything is settled

	fineAfter = 5   // readings of a state, from which on its jitter is known
	fineLeast = 0.5 // A: what changes less is no change, however still the readings are
)

// Plainly is how far from 90 degrees, as a cosine, the angle of a change must be for
// anyone to say whether the power rose or fell. Our choice, no source.
const Plainly = 0.1

// follows reports whether a reading goes on with the state.
func (s *State) follows(next *[3]Observation, fine bool) bool {
	for k := range next {
		if distance(s.Observed[k].end(), next[k].end()) > s.spread(k, &next[k], fine) {
			return false
		}
	}
	return true
}

// spread is how far from the state's mean, A, a channel may read and still be in it.
func (s *State) spread(k int, next *Observation, fine bool) float64 {
	noise := ChangeSigmas * math.Hypot(s.Observed[k].Noise(), next.Noise())
	if fine && s.n >= fineAfter {
		noise = min(noise, max(fineLeast, ChangeSigmas*s.jitter[k]))
	}
	return noise
}

// Least is the change of a channel to another state, A, that may be none: noise, and
// what a change of the voltage makes of whatever is on.
func (s *State) Least(to *State, k int, fine bool) float64 {
	return s.spread(k, &to.Observed[k], fine) + Dip(s.Observed[k].Current, to.Observed[k].Current)
}

// learn follows how far readings of the state lie apart.
func (s *State) learn(next *[3]Observation) {
	for k := range next {
		amps := distance(s.Edges[Closing][k], next[k].end())
		s.jitter[k] += max(1/float64(s.n), 0.1) * (amps - s.jitter[k])
	}
}

// Times by which a state that stays is told from what only passes, in s.
// Assumptions of ours: submeters average over a second or less, so that one that
// is asked more often shows a step in parts.
const (
	settleTime = 0.9 // that a state lasts to count
	followTime = 4.0 // in which a state follows slow drift
)

// absorb folds one more reading into the mean, some seconds after the last. It
// follows slow drift, however often the meter is read.
func (s *State) absorb(next *[3]Observation, after float64) {
	s.n++
	s.lasted += after
	even := 1 / float64(s.n)
	s.Observed = toward(&s.Observed, next, math.Max(even, math.Min(0.25, after/followTime)))
	for k := range next {
		s.Edges[Closing][k].toward(&next[k], math.Max(even, math.Min(1, after/settleTime)))
		if s.lasted < settleTime {
			s.Edges[Opening][k].toward(&next[k], math.Min(1, 3*after/settleTime))
		}
	}
}

// toward moves means by a share of the way to one more reading.
func toward(mean, next *[3]Observation, share float64) (to [3]Observation) {
	for k := range next {
		old, now := &mean[k], next[k]
		if old.N != now.N || old.N == 0 && !now.SizeOnly {
			to[k] = now
			continue
		}
		for i := range now.N {
			now.Candidates[i].Theta = between(old.Candidates[i].Theta, now.Candidates[i].Theta, share)
		}
		now.Amps = old.Amps + share*(now.Amps-old.Amps)
		now.Working = old.Working + share*(now.Working-old.Working)
		now.Volts = old.Volts + share*(now.Volts-old.Volts)
		if was, ok := old.MeanWatts.Get(); ok {
			now.MeanWatts = now.MeanWatts.Map(func(w float64) float64 { return was + share*(w-was) })
		}
		to[k] = now
	}
	return to
}

// Settled reports a state that has stayed, and was more than a part of a change.
func (s *State) Settled() bool { return s.n >= 2 && s.lasted >= settleTime }

// Steady reports a state against which a change can be seen; a fine one needs its
// jitter known.
func (s *State) Steady(fine bool) bool { return s.n >= 2 && !fine || s.n >= fineAfter }

// loaded is how many channels can be judged in the state.
func (s *State) loaded() int {
	n := 0
	for k := range s.Observed {
		if s.Observed[k].Loaded {
			n++
		}
	}
	return n
}

// Volts are those of the inputs, V.
func (s *State) Volts() (volts [3]float64) {
	for k := range volts {
		volts[k] = s.Observed[k].Volts
	}
	return volts
}
