package watch

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"legwork/diagnose"
	"legwork/diagnose/loadstep"
)

// leastBetween is the time between two results without new evidence; more
// where a result takes long, so that it stays within a twentieth of the time.
const leastBetween = time.Second

// Judge brings the result up to date, if that is due.
func (s *Session) Judge() {
	begun := s.o.Now()
	if s.n == 0 || !s.due(begun) {
		return
	}
	s.stale = false
	s.look()
	before := s.result
	s.result = s.on.Result()
	if s.contest() {
		s.result = s.on.Result()
	}
	if s.load.Steady() || s.steady.Legwork == 0 {
		s.steady = s.result
	}
	s.grow()
	s.tellDoubt()
	s.tellVerdict(before)
	took := s.o.Now().Sub(begun)
	s.next, s.soon = begun.Add(max(leastBetween, 20*took)), begun.Add(5*took)
}

// due reports that a result is to be made anew.
func (s *Session) due(now time.Time) bool {
	if s.o.Replay {
		return s.stale || s.rival != nil
	}
	return !now.Before(s.soon) && (s.stale || !now.Before(s.next))
}

// look takes the cautions about what there is now.
func (s *Session) look() {
	urgent := loadstep.Dangers(s.last, s.o.Diagnose)
	for _, c := range urgent {
		if !slices.Contains(s.urgent, c) {
			s.event(s.last.At, c, true)
		}
	}
	s.urgent = urgent
	if s.led != nil && len(urgent) > 0 {
		s.led.Break(loadstep.Danger{Caution: urgent[0]})
	}
}

// suspect opens a rival where the wiring may have been changed.
func (s *Session) suspect(at time.Time) { s.rival = loadstep.Suspect(s.o.Diagnose, s.steady, at) }

// contest lets a rival take over that is sure of other wiring, and reports it.
func (s *Session) contest() bool {
	v := s.rival
	if v == nil {
		return false
	}
	takesOver, done := v.Judge()
	if takesOver || done {
		s.rival = nil
	}
	if !takesOver {
		return false
	}
	s.on, s.since, s.findings, s.grown, s.steps, s.before = v.Case, v.Since, nil, nil, 0, nil
	s.event(s.last.At, fmt.Sprintf("The wiring was changed at %s: judged anew from there. Before: %s",
		v.Since.Format(time.TimeOnly), v.Before.Summary), true)
	if s.o.Keep != nil {
		s.event(s.last.At, "The record doesn't hold that change: press n to note it", false)
	}
	return true
}

// mostGrown is how many probabilities are kept.
const mostGrown = 8

// grow notes how probable the first explanation is after each step.
func (s *Session) grow() {
	if len(s.result.Explanations) == 0 {
		return
	}
	p := s.result.Explanations[0].Probability
	if len(s.grown) == 0 || s.result.Steps != s.steps {
		s.grown = append(s.grown, p)
	} else {
		s.grown[len(s.grown)-1] = p
	}
	if len(s.grown) > mostGrown {
		s.grown = append(s.grown[:0], s.grown[1:]...)
	}
	s.steps = s.result.Steps
}

// tellVerdict makes an event of a verdict that changed.
func (s *Session) tellVerdict(before diagnose.Result) {
	same := before.Verdict == s.result.Verdict && before.Likeliest().Words == s.result.Likeliest().Words
	if before.Legwork != 0 && same {
		return
	}
	s.event(s.last.At, verdictLine(s.result), true)
}

// verdictLine is a result in a line.
func verdictLine(r diagnose.Result) string {
	return strings.ToUpper(string(r.Verdict)) + "  " + r.Sentence()
}
