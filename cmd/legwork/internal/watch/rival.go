package watch

import (
	"fmt"
	"time"

	"legwork/diagnose"
)

// A case believes that the wiring stays while it is open, so a CT that is
// turned while someone watches would be taken for an odd load for ever. Where
// the readings jump as they do when conductors are moved, a second case is
// opened on what comes after: the rival. When it is sure of other wiring for
// some readings on end, it takes over.

// Assumptions of ours, no source.
const (
	rivalTurn     = 40.0 // degrees: an angle that jumps further may be a moved conductor
	rivalSure     = 0.95
	rivalReadings = 4  // and verdicts on end that differ
	rivalAgrees   = 10 // verdicts that agree, and the case goes on as it was
	longAway      = 5 * time.Second
)

type rival struct {
	on     *diagnose.Case
	before diagnose.Result // what was said before the jump; the case may come round by itself
	since  time.Time
	n      int
	differ int // verdicts on end that were sure of other wiring
	agree  int // that were sure of the same
}

// suspect opens a rival where the wiring may have been changed.
func (s *Session) suspect(at time.Time) {
	o := s.o.Diagnose
	o.Findings = nil // what was seen is of the wiring before
	s.rival = &rival{on: diagnose.New(o), before: s.steady, since: at}
}

// mayBeRewired reports a step that moved conductors could have made.
func (s *Session) mayBeRewired(step *Step) bool {
	for k := range step.From {
		from, to := step.From[k], step.To[k]
		least := s.minCurrent()
		switch {
		case step.turned(k, least) > rivalTurn,
			from.known && to.known && from.amps < least && to.amps >= least,
			from.volts < to.volts/2:
			return true
		}
	}
	return false
}

// contest compares the rival with the case, and reports that it took over.
func (s *Session) contest() bool {
	v := s.rival
	if v == nil || v.n < rivalReadings {
		return false
	}
	r := v.on.Result()
	sure := len(r.Explanations) > 0 && r.Verdict != diagnose.Undecided && r.Explanations[0].Probability >= rivalSure
	switch {
	case sure && otherWiring(r, v.before):
		v.differ++
	case sure:
		v.differ, v.agree = 0, v.agree+1
	default:
		v.differ = 0
	}
	switch {
	case v.differ >= rivalReadings:
		s.on, s.since, s.rival, s.seen = v.on, v.since, nil, nil
		s.grown, s.steps = nil, 0
		s.event(s.last.At, fmt.Sprintf("The wiring was changed at %s: judged anew from there. Before: %s", v.since.Format(time.TimeOnly), v.before.Summary), true)
		if s.o.Keep != nil {
			s.event(s.last.At, "The record doesn't know of that change; n tells it", false)
		}
		return true
	case v.agree >= rivalAgrees:
		s.rival = nil
	}
	return false
}

// otherWiring reports that two results place a CT unlike, where both judge it.
func otherWiring(a, b diagnose.Result) bool {
	if len(b.Explanations) == 0 {
		return true
	}
	x, y := a.Explanations[0].CT, b.Explanations[0].CT
	for k := range min(len(x), len(y)) {
		if x[k].Leg == nil || y[k].Leg == nil {
			continue
		}
		if *x[k].Leg != *y[k].Leg || *x[k].Reversed != *y[k].Reversed {
			return true
		}
	}
	return false
}
