package watch

import (
	"fmt"
	"io"
	"math"
	"strings"
	"time"

	"legwork/diagnose"
	"legwork/probe/link"
	"legwork/probe/reading"
)

// Options set how a meter is watched.
type Options struct {
	Meter    string // as it was named
	Diagnose diagnose.Options
	// Counts gives the link's health; nil where there is no link.
	Counts func() link.Counts
	// Replay says that the readings come as fast as they can be taken, so that
	// the clock tells nothing of when a verdict is due.
	Replay bool
	// Now tells the time; nil is time.Now.
	Now func() time.Time
}

// Session is what a watch knows. It is for one goroutine.
type Session struct {
	o      Options
	on     *diagnose.Case
	since  time.Time // when the case was opened: its first reading
	begun  time.Time // the watch
	seen   []string  // tests that were told to it
	rival  *rival
	result diagnose.Result
	urgent []string // cautions about what the last reading shows
	last   reading.Reading
	n      int // readings in all
	events events
	load   stepper
	guide  *Guide
	grown  []float64 // the first explanation's probability after each step used
	steps  int
	lost   time.Time // since when there is no answer; zero while there is
	why    string
	ended  bool // the capture is over

	stale bool      // evidence came since the result
	next  time.Time // when a result may be made again without new evidence
	soon  time.Time // and with it
}

// NewSession opens a session.
func NewSession(o Options) *Session {
	if o.Now == nil {
		o.Now = time.Now
	}
	s := &Session{o: o, on: diagnose.New(o.Diagnose), begun: o.Now()}
	for _, one := range o.Diagnose.Seen {
		s.seen = append(s.seen, one.String())
	}
	return s
}

func (s *Session) minCurrent() float64 {
	if s.o.Diagnose.MinCurrent > 0 {
		return s.o.Diagnose.MinCurrent
	}
	return diagnose.DefaultMinCurrent
}

func (s *Session) event(at time.Time, text string, loud bool) {
	s.events.add(Event{at, text, loud})
}

// Result is the last verdict; Readings how many readings there were.
func (s *Session) Result() diagnose.Result { return s.result }

// Readings is how many there were.
func (s *Session) Readings() int { return s.n }

// Events since the first seen ones, the oldest first, and how many there ever were.
func (s *Session) Events(seen int) ([]Event, int) { return s.events.since(seen), s.events.total }

// Guide is the load step that is led or was led last; nil for none.
func (s *Session) Guide() *Guide { return s.guide }

// Urgent are the cautions about what the last reading shows.
func (s *Session) Urgent() []string { return s.urgent }

// Add takes a reading.
func (s *Session) Add(r reading.Reading) {
	s.n++
	if s.n == 1 {
		s.since = r.At
		s.event(r.At, "Watching "+s.o.Meter, false)
	}
	s.back(r.At)
	s.last = r
	step, stepped := s.load.add(r.At, levelsOf(r))
	if stepped {
		s.event(r.At, step.Words(), false)
		s.stale = true
		if s.mayBeRewired(&step) {
			s.suspect(r.At)
		}
	}
	s.on.Add(r)
	if s.rival != nil {
		s.rival.on.Add(r)
		s.rival.n++
	}
	s.stale = s.stale || s.n == 1
	s.lead(r.At, step, stepped)
}

// back ends a loss.
func (s *Session) back(at time.Time) {
	if s.lost.IsZero() {
		return
	}
	away := at.Sub(s.lost)
	s.event(at, fmt.Sprintf("The meter answers again, after %s", Span(away)), true)
	s.lost, s.why = time.Time{}, ""
	if away >= longAway {
		s.load = stepper{}
		s.suspect(at)
	}
}

// Lost notes that the meter didn't answer.
func (s *Session) Lost(at time.Time, err error) {
	if s.lost.IsZero() {
		s.lost = at
		s.event(at, "No answer: "+err.Error(), true)
	}
	s.why = err.Error()
	if s.guide != nil {
		s.guide.tick(at)
	}
}

// End notes that the capture is over.
func (s *Session) End() {
	if !s.ended {
		s.ended = true
		s.event(s.last.At, fmt.Sprintf("The capture is over: %d readings", s.n), false)
	}
}

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
	o.Seen = nil
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
	s.guide = &Guide{Leg: leg, Within: within}
	if s.load.steady() {
		s.guide.steady(s.last.At)
	}
	return nil
}

// Leave ends a load step that is led.
func (s *Session) Leave() { s.guide = nil }

// lead hands what happened to the guide, and folds in what it saw.
func (s *Session) lead(at time.Time, step Step, stepped bool) {
	g := s.guide
	if g == nil || g.Outcome != Waiting {
		return
	}
	if stepped {
		g.take(step, sceneOf(s.resultNow()))
	} else if s.load.steady() {
		g.steady(at)
	}
	g.tick(at)
	if g.Outcome == Waiting {
		return
	}
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

// Span is a duration as people say it.
func Span(d time.Duration) string {
	d = max(0, d)
	switch {
	case d < time.Minute:
		return fmt.Sprintf("%d s", int(math.Round(d.Seconds())))
	case d < time.Hour:
		return fmt.Sprintf("%d min %02d s", int(d.Minutes()), int(d.Seconds())%60)
	}
	return fmt.Sprintf("%d h %02d min", int(d.Hours()), int(d.Minutes())%60)
}

// Farewell says in a few lines what the watch came to.
func (s *Session) Farewell(out io.Writer) error {
	if s.n == 0 {
		_, err := fmt.Fprintln(out, "The meter gave no reading")
		return err
	}
	_, err := fmt.Fprintf(out, "%s\n%d readings in %s, %d changes of load used\n",
		verdictLine(s.result), s.n, Span(s.o.Now().Sub(s.begun)), s.result.Steps)
	return err
}
