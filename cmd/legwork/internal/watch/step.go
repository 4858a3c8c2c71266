package watch

import (
	"fmt"
	"math"
	"math/cmplx"
	"strings"
	"time"

	"legwork/probe/reading"
)

// Step is a change of load, from one level that stayed to another.
type Step struct {
	At       time.Time
	From, To levels
	Channels []int // that took it, from 0; at least one

	nothing [reading.MaxChannels]float64 // A: changes that may be none
}

// smallShare of the largest change is what another channel needs to count: a
// load on one leg moves the voltages, and with them the loads of the others.
const smallShare = 0.2

// stepper tells steps from readings. A meter that averages shows a step in
// parts first, so a level counts once it has stayed for a while.
type stepper struct {
	// fine has a stepper learn how still the readings are, so that a load of an
	// ampere shows beside a hundred.
	fine bool

	base   levels
	n      int // readings of it
	last   levels
	at     time.Time // of the last reading
	jitter [reading.MaxChannels]float64
	next   levels
	wait   int       // readings away from the base
	since  time.Time // when next began
	away   time.Time // when the base was left
}

// Times by which a level is told from what only passes. Assumptions of ours:
// submeters average over a second or less.
const (
	settleTime = 900 * time.Millisecond // that a new level stays
	baseTime   = 4 * time.Second        // in which the base follows slow drift
	swingTime  = 8 * time.Second        // after which a load that swings is the new base
	swings     = 8                      // and so many readings

	fineAfter = 5   // readings of a base, from which on its jitter is known
	fineLeast = 0.5 // A
)

func (s *stepper) add(at time.Time, now levels) (Step, bool) {
	share := min(0.25, max(0, at.Sub(s.at).Seconds()/baseTime.Seconds()))
	before := s.last
	s.last, s.at = now, at
	switch {
	case s.n == 0:
		s.base, s.n = now, 1
	case s.same(&s.base, &now):
		s.n++
		s.wait = 0
		s.learn(&before, &now)
		s.base.absorb(&now, math.Max(1/float64(s.n), share))
	case s.wait > 0 && s.same(&s.next, &now) && at.Sub(s.since) >= settleTime:
		s.next.absorb(&now, 0.5)
		step := Step{At: at, From: s.base, To: s.next, nothing: s.nothing(&s.base, &s.next)}
		s.base, s.n, s.wait = s.next, 2, 0
		step.Channels = step.took()
		return step, len(step.Channels) > 0
	case s.wait >= swings && at.Sub(s.away) >= swingTime:
		s.base, s.n, s.wait = now, 1, 0
	default:
		if s.wait == 0 {
			s.away = at
		}
		if s.wait == 0 || !s.same(&s.next, &now) {
			s.next, s.since = now, at
		}
		s.wait++
	}
	return Step{}, false
}

// nothing is the change of each channel that may be none.
func (s *stepper) nothing(from, to *levels) (least [reading.MaxChannels]float64) {
	for k := range from {
		_, least[k] = from[k].shift(to[k])
		if s.fine && s.n >= fineAfter {
			least[k] = min(least[k], max(fineLeast, sigmas*s.jitter[k]))
		}
	}
	return least
}

func (s *stepper) same(from, to *levels) bool {
	least := s.nothing(from, to)
	for k := range from {
		if amps, _ := from[k].shift(to[k]); from[k].known != to[k].known || amps > least[k] {
			return false
		}
	}
	return true
}

// learn follows how far readings of one level lie apart.
func (s *stepper) learn(before, now *levels) {
	for k := range now {
		amps, _ := before[k].shift(now[k])
		s.jitter[k] += math.Max(1/float64(s.n-1), 0.1) * (amps - s.jitter[k])
	}
}

// steady reports a level that a step can be seen against.
func (s *stepper) steady() bool {
	if s.fine {
		return s.n >= fineAfter && s.wait == 0
	}
	return s.n >= 2 && s.wait == 0
}

// took lists the channels whose current changed.
func (s *Step) took() []int {
	var most float64
	for k := range s.From {
		if s.Amps(k) > s.nothing[k] {
			most = math.Max(most, s.Amps(k))
		}
	}
	var list []int
	for k := range s.From {
		if s.Amps(k) > s.nothing[k] && s.Amps(k) >= smallShare*most {
			list = append(list, k)
		}
	}
	return list
}

// Amps is the size of the change on a channel.
func (s *Step) Amps(k int) float64 {
	amps, _ := s.From[k].shift(s.To[k])
	return amps
}

// Watts is the change of a channel's power, where that is known.
func (s *Step) Watts(k int) (float64, bool) {
	return s.To[k].watts - s.From[k].watts, s.From[k].power && s.To[k].power
}

// On reports that more current flows than before: a load came on.
func (s *Step) On() bool {
	var sum float64
	for _, k := range s.Channels {
		sum += s.To[k].amps - s.From[k].amps
	}
	return sum > 0
}

// theta is the angle of the change on a channel behind its own voltage, in
// degrees, as that of a load that came on.
func (s *Step) theta(k int) (float64, bool) {
	if !s.From[k].angle || !s.To[k].angle {
		return 0, false
	}
	d := s.To[k].z - s.From[k].z
	if !s.On() {
		d = -d
	}
	return -cmplx.Phase(d) * 180 / math.Pi, true
}

// turned is how far the angle of a channel's current went, in degrees; 0 where
// it isn't known before and after.
func (s *Step) turned(k int, minCurrent float64) float64 {
	a, b := s.From[k], s.To[k]
	if !a.angle || !b.angle || a.amps < minCurrent || b.amps < minCurrent {
		return 0
	}
	return math.Abs(cmplx.Phase(b.z/a.z)) * 180 / math.Pi
}

// jumped reports angles that went without the sizes: no load does that.
func (s *Step) jumped() bool {
	for _, k := range s.Channels {
		if s.turned(k, 0) < rivalTurn || math.Abs(s.To[k].amps-s.From[k].amps) > 0.3*s.Amps(k) {
			return false
		}
	}
	return true
}

// Words says the step in a line.
func (s *Step) Words() string {
	if s.jumped() {
		var parts []string
		for _, k := range s.Channels {
			parts = append(parts, fmt.Sprintf("channel %d by %.0f degrees", k+1, s.turned(k, 0)))
		}
		return "Angle jumped: " + strings.Join(parts, ", ")
	}
	what := "Load off:"
	if s.On() {
		what = "Load on:"
	}
	var parts []string
	for _, k := range s.Channels {
		parts = append(parts, s.channelWords(k))
	}
	return what + " " + strings.Join(parts, ", ")
}

func (s *Step) channelWords(k int) string {
	text := fmt.Sprintf("channel %d %+.*f A", k+1, decimals(s.Amps(k)), s.To[k].amps-s.From[k].amps)
	if watts, ok := s.Watts(k); ok {
		text += fmt.Sprintf(" (%+.2f kW)", watts/1000)
	}
	return text
}

func decimals(amps float64) int {
	if amps < 10 {
		return 2
	}
	return 1
}
