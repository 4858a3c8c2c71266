package watch

import (
	"fmt"
	"time"

	"legwork/diagnose"
	"legwork/probe/reading"
)

// Anew opens the case anew: the wiring was changed.
func (s *Session) Anew(at time.Time) {
	o := s.o.Diagnose
	o.Seen = nil
	s.on, s.rival, s.seen, s.grown, s.steps = diagnose.New(o), nil, nil, nil, 0
	s.since, s.stale = at, true
	s.event(at, "Judged anew from here", false)
	if s.n > 0 {
		s.on.Add(s.last)
	}
}

// Tell folds in what a test showed, in the grammar of --seen.
func (s *Session) Tell(at time.Time, text string) error {
	one, err := diagnose.ParseSeen(text)
	if err != nil {
		return err
	}
	s.on.Saw(one)
	s.seen = append(s.seen, one.String())
	s.stale, s.soon = true, time.Time{}
	s.event(at, "Told: "+one.String(), false)
	return nil
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
	s.event(at, fmt.Sprintf("Load step, leg %d: %s", g.Leg, g.Says), true)
	if g.Outcome == NothingSeen {
		return // the load may not have come on
	}
	for _, text := range g.Seen {
		_ = s.Tell(at, text) // the guide's own sentences are understood
	}
}

// resultNow is the last result, or the first there can be.
func (s *Session) resultNow() diagnose.Result {
	if s.result.Legwork == 0 {
		return s.on.Result()
	}
	return s.result
}
