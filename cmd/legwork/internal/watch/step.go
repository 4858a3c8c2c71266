package watch

import (
	"fmt"
	"math"
	"math/cmplx"
	"strings"
	"time"
)

// Step is a change of load, from one level that stayed to another.
type Step struct {
	At       time.Time
	From, To levels
	Channels []int // that took it, from 0; at least one
}

// smallShare of the largest change is what another channel needs to count: a
// load on one leg moves the voltages, and with them the loads of the others.
const smallShare = 0.2

// stepper tells steps from readings. A meter that averages shows a step in
// part first, so a level counts when two readings agree on it.
type stepper struct {
	base levels
	n    int // readings of it
	next levels
	wait int // readings away from the base
}

// mostUnsettled is after how many readings that agree with none before them
// the last one is taken for the level: the load swings.
const mostUnsettled = 8

func (s *stepper) add(at time.Time, now levels) (Step, bool) {
	switch {
	case s.n == 0:
		s.base, s.n = now, 1
	case s.base.same(&now):
		s.n++
		s.wait = 0
		s.base.absorb(&now, math.Max(1/float64(s.n), 0.25))
	case s.wait > 0 && s.next.same(&now):
		s.next.absorb(&now, 0.5)
		step := Step{At: at, From: s.base, To: s.next}
		s.base, s.n, s.wait = s.next, 2, 0
		step.Channels = step.took()
		return step, len(step.Channels) > 0
	case s.wait == mostUnsettled:
		s.base, s.n, s.wait = now, 1, 0
	default:
		s.next = now
		s.wait++
	}
	return Step{}, false
}

// steady reports a level that a step can be seen against.
func (s *stepper) steady() bool { return s.n >= 2 && s.wait == 0 }

// took lists the channels whose current changed.
func (s *Step) took() []int {
	var most float64
	for k := range s.From {
		if amps, nothing := s.From[k].shift(s.To[k]); amps > nothing {
			most = math.Max(most, amps)
		}
	}
	var list []int
	for k := range s.From {
		if amps, nothing := s.From[k].shift(s.To[k]); amps > nothing && amps >= smallShare*most {
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
