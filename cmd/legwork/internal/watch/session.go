package watch

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"
	"time"

	"legwork/cmd/legwork/internal/screen"
	"legwork/diagnose"
	"legwork/diagnose/loadstep"
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
	// the clock doesn't say when a verdict is due.
	Replay bool
	// Keep, where it isn't nil, puts a word into a record and gives its entry;
	// when it returns without an error the word is there for good. It is called
	// while a key is acted on, since nothing is acknowledged before.
	Keep func(Word) (entry int, err error)
	// Now gives the time; nil is time.Now.
	Now func() time.Time
}

// Word is something to be kept: one of its fields is set.
type Word struct {
	Test string        // what a test showed, in the grammar of --seen
	Step *loadstep.Led // a led load step that is over
	Move string        // what was moved, in a person's words
}

// Session is what a watch knows. It is for one goroutine.
type Session struct {
	o        Options
	on       *diagnose.Case
	first    time.Time // when the watch took its first reading
	since    time.Time // when the case was opened: its first reading
	begun    time.Time // the watch
	findings []diagnose.Finding
	rival    *loadstep.Rival
	result   diagnose.Result
	steady   diagnose.Result // the last one while no change of load was under way
	urgent   []string        // cautions about what the last reading shows
	last     reading.Reading
	n        int // readings in all
	events   events
	load     loadstep.Follower
	led      *loadstep.Led
	before   *weighed  // the verdict before a test was told; nil once that is looked at
	grown    []float64 // the first explanation's probability after each step used
	steps    int
	lost     time.Time // since when there is no answer; zero while there is
	why      string
	ended    bool // the capture is over

	stale bool      // evidence came since the result
	next  time.Time // when a result may be made again without new evidence
	soon  time.Time // and with it
}

// NewSession opens a session.
func NewSession(o Options) *Session {
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Diagnose.Tables == nil {
		o.Diagnose.Tables = diagnose.NewTables() // for the case, its rivals and whatever is judged beside
	}
	s := &Session{o: o, on: diagnose.New(o.Diagnose), begun: o.Now()}
	s.findings, s.load.MinCurrent = slices.Clone(o.Diagnose.Findings), s.minCurrent()
	return s
}

func (s *Session) minCurrent() float64 {
	return cmp.Or(max(0, s.o.Diagnose.MinCurrent), diagnose.DefaultMinCurrent)
}

func (s *Session) event(at time.Time, text string, loud bool) {
	s.events.add(Event{at, screen.OneLine(text), loud})
}

// Result is the last verdict; Readings how many readings there were.
func (s *Session) Result() diagnose.Result { return s.result }

// Readings is how many there were.
func (s *Session) Readings() int { return s.n }

// Events since the first seen ones, the oldest first, and how many there ever were.
func (s *Session) Events(seen int) ([]Event, int) { return s.events.since(seen), s.events.total }

// Add takes a reading.
func (s *Session) Add(r reading.Reading) {
	s.n++
	if s.n == 1 {
		s.first, s.since = r.At, r.At
		s.event(r.At, "Watching "+s.o.Meter, false)
	}
	s.back(r.At)
	s.last = r
	step, stepped := s.load.Add(r)
	if stepped {
		s.event(r.At, step.String(), false)
		s.stale = true
		if step.Rewired {
			s.suspect(r.At)
		}
	}
	s.on.Add(r)
	if s.rival != nil {
		s.rival.Add(r)
	}
	s.stale = s.stale || s.n == 1
	s.lead(loadstep.Followed{Reading: r, Step: step, Stepped: stepped, Steady: s.load.Steady()})
}

// longAway is how long a meter must have been silent for the wiring to be doubted:
// conductors are moved dead. Our choice, no source.
const longAway = 5 * time.Second

// back ends a loss.
func (s *Session) back(at time.Time) {
	if s.lost.IsZero() {
		return
	}
	away := at.Sub(s.lost)
	s.event(at, fmt.Sprintf("The meter answers again, after %s", Span(away)), true)
	s.lost, s.why = time.Time{}, ""
	if away >= longAway {
		s.load = loadstep.Follower{MinCurrent: s.minCurrent()}
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
	if s.led != nil {
		s.led.Tick(at)
	}
}

// End notes that the capture is over.
func (s *Session) End() {
	if !s.ended {
		s.ended = true
		s.event(s.last.At, "End of the capture: "+screen.Count(s.n, "reading", "readings"), false)
	}
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
	_, err := fmt.Fprintf(out, "%s\n%s in %s, %s used\n", verdictLine(s.result),
		screen.Count(s.n, "reading", "readings"), Span(s.o.Now().Sub(s.begun)), screen.Count(s.result.Steps, "change of load", "changes of load"))
	return err
}
