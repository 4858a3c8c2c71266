package watch

import (
	"fmt"
	"time"

	"legwork/diagnose"
	"legwork/probe/reading"
)

// keep puts a word into the record, where there is one, and says in a few words
// where it stands.
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
	s.on, s.rival, s.seen, s.grown, s.steps = diagnose.New(o), nil, nil, nil, 0
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
	s.seen = append(s.seen, one.String())
	s.stale, s.soon = true, time.Time{}
	s.event(at, "Told: "+one.String()+where, false)
}

// Danger is why a load step is refused: what the last reading shows.
type Danger struct{ Caution string }

func (d Danger) Error() string { return "no load step now. " + d.Caution }

// Lead begins a load step on a leg. While a danger shows that forbids it, the
// error is a Danger.
func (s *Session) Lead(leg int, within time.Duration) error {
	if len(s.urgent) > 0 {
		return Danger{s.urgent[0]}
	}
	if err := CheckLeg(s.result.Service.Name, leg); err != nil {
		return err
	}
	s.guide = &Guide{Leg: leg, Within: within, load: stepper{fine: true}}
	return nil
}

// Leave ends a load step that is led.
func (s *Session) Leave() { s.guide = nil }

// lead hands a reading to the guide, and folds in what it saw.
func (s *Session) lead(r reading.Reading) {
	g := s.guide
	if g == nil || g.Outcome != Waiting {
		return
	}
	g.add(r.At, levelsOf(r), sceneOf(s.resultNow()))
	if g.Outcome == Waiting {
		return
	}
	at := r.At
	where, err := s.keep(Word{Step: g})
	s.event(at, fmt.Sprintf("Load step, leg %d: %s%s", g.Leg, g.Says, where), true)
	if err != nil {
		s.event(at, err.Error(), true)
	}
	if g.Outcome == NothingSeen {
		return // the load may not have come on
	}
	for _, text := range g.Seen {
		if one, err := diagnose.ParseFinding(text); err == nil { // the guide's own sentences are understood
			s.fold(at, one, "")
		}
	}
}

// resultNow is the last result, or the first there can be.
func (s *Session) resultNow() diagnose.Result {
	if s.result.Legwork == 0 {
		return s.on.Result()
	}
	return s.result
}
