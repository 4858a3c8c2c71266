package watch

import (
	"fmt"
	"time"

	"legwork/diagnose"
	"legwork/diagnose/loadstep"
	"legwork/probe/reading"
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

// Anew opens the case anew: a person says that the wiring was changed.
func (s *Session) Anew(at time.Time) {
	where, err := s.keep(Word{Anew: true})
	if err != nil {
		s.event(at, err.Error(), true)
	}
	o := s.o.Diagnose
	o.Findings = nil
	s.on, s.rival, s.told, s.grown, s.steps = diagnose.New(o), nil, nil, nil, 0
	s.since, s.stale = at, true
	s.event(at, "Judged anew from here"+where, false)
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
	s.on.Learn(one)
	s.told = append(s.told, one)
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
		s.led = led
	}
	return err
}

// Leave ends a load step that is led.
func (s *Session) Leave() { s.led = nil }

// lead hands a reading to a led load step, and folds in what it showed.
func (s *Session) lead(r reading.Reading) {
	l := s.led
	if l == nil || l.Outcome != loadstep.Waiting {
		return
	}
	l.Add(r)
	if l.Outcome == loadstep.Waiting {
		return
	}
	where, err := s.keep(Word{Step: l})
	s.event(r.At, fmt.Sprintf("Load step, leg %d: %s%s", l.Leg, l.Says, where), true)
	if err != nil {
		s.event(r.At, err.Error(), true)
	}
	if l.Outcome == loadstep.NothingSeen {
		return // the load may not have come on
	}
	for _, one := range l.Findings {
		s.fold(r.At, one, "")
	}
}
