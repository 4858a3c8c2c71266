package diagnose

import (
	"math"
	"math/cmplx"

	"legwork/probe/reading"
)

// A state is a stretch of time in which the load did not change: its readings
// are one piece of evidence. A change from one state to the next is another.

// state is the mean of a stretch's readings.
type state struct {
	n      int
	lasted float64 // s, up to the reading that came last
	sights [3]sight
	edges  [2]edge // what it read when it began, and when it was last read
	// repeats marks a state that was entered by a change seen before, up to
	// its sign: a load that cycles is one piece of evidence, not one each time.
	repeats bool
}

// edge is what a state read at one end: a change of load is taken from the end of
// one state to the beginning of the next, so that drift and changes too small to
// be one don't count with it.
type edge struct {
	sights [3]sight
	z      [3][2]complex128 // the phasors that each current may be (see currents)
	zs     [3]int           // how many
}

// The edges of a state.
const (
	opening = iota
	closing
)

// setPhasors works out the phasors of the edge.
func (e *edge) setPhasors() {
	for k := range e.sights {
		e.z[k], e.zs[k] = e.sights[k].currents()
	}
}

// newState begins a state with a reading's sights.
func newState(now [3]sight) state {
	return state{n: 1, sights: now, edges: [2]edge{{sights: now}, {sights: now}}}
}

// What of a current may be noise from one reading to the next. Assumptions of
// ours: a meter of class 1 repeats to a few thousandths.
const (
	currentNoise = 0.006 // share
	leastNoise   = 0.03  // A
	changeSigmas = 5.0
	mostStates   = 200 // that are weighed; by then everything is settled
)

// noiseOf is one standard deviation of a channel's current phasor, A.
func (s *sight) noise() float64 { return math.Max(leastNoise, currentNoise*s.amps) }

// currents lists the phasors that a channel's current may be, as seen from its
// own voltage: I at -theta, scaled to the same voltage.
func (s *sight) currents() (z [2]complex128, n int) {
	if s.n == 0 {
		return z, 1
	}
	for _, c := range s.list() {
		if n < len(z) && (n == 0 || (c.theta < 0) != (s.candidates[0].theta < 0)) {
			z[n] = cmplx.Rect(s.amps, -c.theta*math.Pi/180)
			n++
		}
	}
	return z, n
}

// follows reports whether a reading goes on with the state.
func (s *state) follows(next *[3]sight) bool {
	for k := range next {
		before, after := &s.sights[k], &next[k]
		if distance(before, after) > changeSigmas*math.Hypot(before.noise(), after.noise()) {
			return false
		}
	}
	return true
}

// distance is how far apart two currents are, in A, by the candidates nearest
// to each other; a change of the voltage by itself is scaled out.
func distance(a, b *sight) float64 {
	za, na := a.currents()
	zb, nb := b.currents()
	scale := complex(1, 0)
	if a.volts > 0 && b.volts > 0 {
		scale = complex(a.volts/b.volts, 0)
	}
	least := math.Inf(1)
	for i := range na {
		for j := range nb {
			least = math.Min(least, math.Min(cmplx.Abs(za[i]-zb[j]), cmplx.Abs(za[i]-zb[j]*scale)))
		}
	}
	return least
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
func (s *state) absorb(next *[3]sight, after float64) {
	s.n++
	s.lasted += after
	even := 1 / float64(s.n)
	s.sights = toward(&s.sights, next, math.Max(even, math.Min(0.25, after/followTime)))
	s.edges[closing].sights = toward(&s.edges[closing].sights, next, math.Max(even, math.Min(1, after/settleTime)))
	if s.lasted < settleTime {
		s.edges[opening].sights = toward(&s.edges[opening].sights, next, math.Min(1, 3*after/settleTime))
	}
}

// toward moves means by a share of the way to one more reading.
func toward(mean, next *[3]sight, share float64) (to [3]sight) {
	for k := range next {
		old, now := &mean[k], next[k]
		if old.n != now.n || old.n == 0 {
			to[k] = now
			continue
		}
		for i := range now.n {
			off := reading.Degrees(now.candidates[i].theta).Minus(reading.Degrees(old.candidates[i].theta))
			now.candidates[i].theta = float64(reading.Degrees(old.candidates[i].theta + share*float64(off)))
		}
		now.amps = old.amps + share*(now.amps-old.amps)
		now.working = old.working + share*(now.working-old.working)
		now.volts = old.volts + share*(now.volts-old.volts)
		to[k] = now
	}
	return to
}

// loaded is how many channels can be judged in the state.
func (s *state) loaded() int {
	n := 0
	for k := range s.sights {
		if s.sights[k].loaded {
			n++
		}
	}
	return n
}
