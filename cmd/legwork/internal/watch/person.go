package watch

import (
	"fmt"
	"strings"
	"time"

	"legwork/diagnose"
	"legwork/diagnose/loadstep"
)

// keep puts a word into the record, where there is one, and says in a few words
// where it is.
func (s *Session) keep(w Word) (where string, err error) {
	if s.o.Keep == nil {
		return "", nil
	}
	n, err := s.o.Keep(w)
	if err != nil {
		return "", fmt.Errorf("not kept: %w", err)
	}
	return fmt.Sprintf(" (entry %d)", n), nil
}

// unnamed is what was moved where nobody says it.
const unnamed = "the wiring was changed"

// Anew opens the case anew, with the last reading: a person says what was moved, and
// it is noted.
func (s *Session) Anew(moved string) {
	at := s.last.At
	if moved = strings.TrimSpace(moved); moved == "" {
		moved = unnamed
	}
	where, err := s.keep(Word{Move: moved})
	if err != nil {
		s.event(at, err.Error(), true)
	}
	o := s.o.Diagnose
	o.Findings = nil
	s.on, s.rival, s.findings, s.grown, s.steps, s.before = diagnose.New(o), nil, nil, nil, 0, nil
	s.since, s.stale = at, true
	s.event(at, fmt.Sprintf("Moved: %s%s. Judged anew from %s", moved, where, at.Format(time.TimeOnly)), false)
	if s.n > 0 {
		s.on.Add(s.last)
	}
}

// Tell folds in what a test showed, in the grammar of --seen, and keeps it. With
// an error nothing was told.
func (s *Session) Tell(at time.Time, text string) error {
	one, err := diagnose.ParseFinding(text)
	if err != nil {
		return err
	}
	where, err := s.keep(Word{Test: text})
	if err != nil {
		return err
	}
	s.fold(at, one, where)
	return nil
}

// fold weighs what a test showed from now on.
func (s *Session) fold(at time.Time, one diagnose.Finding, where string) {
	if s.before == nil {
		s.before = weigh(s.result)
	}
	s.before.findings = append(s.before.findings, one)
	s.on.Learn(one)
	s.findings = append(s.findings, one)
	s.stale, s.soon = true, time.Time{}
	s.event(at, "Test result: "+one.String()+where, false)
}

// Lead begins a load step on a leg. While a danger shows that forbids it, the
// error is a loadstep.Danger.
func (s *Session) Lead(leg int, within time.Duration) error {
	if len(s.urgent) > 0 {
		return loadstep.Danger{Caution: s.urgent[0]}
	}
	led, err := loadstep.Lead(s.result.Service.Name, leg, within)
	if err == nil {
		s.led, s.load.Fine = led, true
	}
	return err
}

// Leave ends a load step that is led.
func (s *Session) Leave() { s.led, s.load.Fine = nil, false }

// lead hands a reading to a led load step.
func (s *Session) lead(f loadstep.Followed) {
	l := s.led
	if l == nil || !l.Open() {
		return
	}
	was := l.Outcome
	l.Take(f)
	switch {
	case !l.Open():
		s.stepOver(f.Reading.At)
	case l.Outcome == loadstep.Asking && was != l.Outcome:
		s.event(f.Reading.At, fmt.Sprintf("Load step, leg %d: %s y/n", l.Leg, l.Question), true)
	}
}

// asking reports a question that waits for y or n.
func (s *Session) asking() bool { return s.led != nil && s.led.Outcome == loadstep.Asking }

// Answer says whether the load that came on was the person's.
func (s *Session) Answer(theirs bool, at time.Time) {
	l := s.led
	if l == nil || l.Outcome != loadstep.Asking {
		return
	}
	l.Answer(theirs, at)
	if !l.Open() {
		s.stepOver(at)
	}
}

// stepOver keeps a led load step that is over, and folds in what it showed.
func (s *Session) stepOver(at time.Time) {
	l := s.led
	s.load.Fine = false
	where, err := s.keep(Word{Step: l})
	s.event(at, fmt.Sprintf("Load step, leg %d: %s%s", l.Leg, l.Says, where), true)
	if err != nil {
		s.event(at, err.Error(), true)
	}
	if l.Outcome == loadstep.NothingSeen {
		return // the load may not have come on
	}
	for _, one := range l.Findings {
		s.fold(at, one, "")
	}
}
