package watch

import (
	"strings"
	"time"

	"legwork/diagnose"
	"legwork/probe/reading"
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
	if s.load.steady() || s.steady.Legwork == 0 {
		s.steady = s.result
	}
	s.grow()
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

// look takes the cautions about what there is now: the case keeps states of
// the load, and a CT that has just gone silent may be open.
func (s *Session) look() {
	o := s.o.Diagnose
	o.Findings = nil
	var urgent []string
	for _, c := range diagnose.Diagnose([]reading.Reading{s.last}, o).Cautions {
		if diagnose.Standing(c) {
			continue
		}
		urgent = append(urgent, c)
		if !contains(s.urgent, c) {
			s.event(s.last.At, c, true)
		}
	}
	s.urgent = urgent
	if s.guide != nil && len(urgent) > 0 {
		s.guide.stop(Danger{urgent[0]})
	}
}

func contains(list []string, one string) bool {
	for _, x := range list {
		if x == one {
			return true
		}
	}
	return false
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
	if before.Legwork != 0 && before.Verdict == s.result.Verdict && topWords(before) == topWords(s.result) {
		return
	}
	s.event(s.last.At, verdictLine(s.result), true)
}

func topWords(r diagnose.Result) string {
	if len(r.Explanations) == 0 {
		return ""
	}
	return r.Explanations[0].Words
}

// verdictLine is a result in a line.
func verdictLine(r diagnose.Result) string {
	return strings.ToUpper(string(r.Verdict)) + "  " + strings.TrimPrefix(r.Summary, "Undecided: ")
}
