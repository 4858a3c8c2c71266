package loadstep

import (
	"fmt"
	"time"

	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// Outcome is what a led load step showed.
type Outcome uint8

// The outcomes.
const (
	Waiting     Outcome = iota
	AsExpected          // the leg's own channel took it, its power up
	Elsewhere           // another channel, or its own with the power down
	Unclear             // several channels, or another leg than was said explains it; or it was broken off
	NothingSeen         // no channel took one, which may not have come on
	Asking              // a load came on, and the person is to say whether it was theirs
)

// String is the outcome's word in JSON.
func (o Outcome) String() string {
	return [...]string{"waiting", "as-expected", "elsewhere", "unclear", "nothing", "asking"}[o]
}

// Led is one led load step: a load of a known leg comes on, and the channel that
// takes it is the one whose CT sits on that leg.
type Led struct {
	Leg     int // 1 to 3
	Within  time.Duration
	By      Proof
	Expect  Size // By Sized
	Outcome Outcome
	Step    Step // that it was seen by
	// Findings are what was seen, as results of tests. That of NothingSeen counts only
	// once a person says that the load did come on.
	Findings []wiring.Finding
	// IfCertain are what was seen where the load was for certain on the leg that was said,
	// and another leg explains it too.
	IfCertain []wiring.Finding
	Says      string // what was seen
	Note      string // while waiting: what came that wasn't it
	Question  string // while Asking

	service  wiring.Service
	declared bool      // it is one
	taken    bool      // a load came that can't be the one
	found    Outcome   // of the step that is being proved
	ready    time.Time // when the load could come on; zero before there is a level
	load     Follower
	proof    proof
	others   []Step // that came before the one that is being proved
}

// Lead begins a load step on a leg of a service, which is "" where it isn't known.
// The error is a wiring.Refused: the service lacks the leg, or no CT belongs there.
func Lead(service string, leg int, within time.Duration) (*Led, error) {
	if err := CheckLeg(service, leg); err != nil {
		return nil, err
	}
	l := &Led{Leg: leg, Within: within, load: Follower{Fine: true}}
	var err error
	l.service, err = wiring.ParseService(service)
	l.declared = err == nil
	return l, nil
}

// unproved ends a step without anything that was seen.
func (l *Led) unproved(why string) {
	l.Outcome, l.Says, l.Findings, l.IfCertain, l.Question = Unclear, why, nil, nil, ""
}

// CheckLeg refuses a leg that the service lacks or on which no CT belongs. The error
// is a wiring.Refused.
func CheckLeg(service string, leg int) error {
	s, err := wiring.ParseService(service)
	switch {
	case err != nil && (leg < 1 || leg > 3):
		return wiring.Refused{What: fmt.Sprintf("leg %d: legs are numbered 1 to 3", leg)}
	case err != nil:
		return nil
	case leg < 1 || leg > s.Legs():
		return wiring.Refused{What: fmt.Sprintf("leg %d: the service %s has legs 1 to %d", leg, s.Name, s.Legs())}
	case homeOf(s, leg) == 0:
		what := fmt.Sprintf("leg %d: on the service %s no CT belongs there", leg, s.Name)
		return wiring.Refused{What: what, Mend: "take another leg"}
	}
	return nil
}

// homeOf is the channel whose CT belongs on a leg; 0 for none.
func homeOf(s wiring.Service, leg int) int {
	for k := 1; k <= s.Channels(); k++ {
		if int(s.HomeLeg(wiring.Channel(k))) == leg {
			return k
		}
	}
	return 0
}

// home is the channel whose CT belongs on the leg; of a service that isn't known the
// one of the same number.
func (l *Led) home() int {
	if !l.declared {
		return l.Leg
	}
	return homeOf(l.service, l.Leg)
}

// Ready reports that the load may come on now.
func (l *Led) Ready() bool { return !l.ready.IsZero() }

// Left is how long it still waits.
func (l *Led) Left(now time.Time) time.Duration {
	if !l.Ready() {
		return l.Within
	}
	return max(0, l.ready.Add(l.Within).Sub(now))
}

// Open reports a step that isn't over: it waits for a load, or for an answer.
func (l *Led) Open() bool { return l.Outcome == Waiting || l.Outcome == Asking }

// Add takes a reading: the time to wait starts once there is a level to see a step
// against.
func (l *Led) Add(r reading.Reading) {
	step, stepped := l.load.Add(r)
	l.Take(Followed{r, step, stepped, l.load.Steady()})
}

// Followed is a reading with what a Follower made of it, which may be shared: of one change of
// load there is then one size.
type Followed struct {
	Reading reading.Reading
	Step    Step
	Stepped bool
	Steady  bool
}

// Take takes a reading that a Follower has had.
func (l *Led) Take(f Followed) {
	at := f.Reading.At
	switch {
	case !l.Open():
		if f.Stepped {
			l.afterwards(f.Step)
		}
		return
	case f.Stepped && l.Ready():
		l.follow(f.Step, f.Reading)
	case !l.Ready() && f.Steady:
		l.ready = at
	}
	l.Tick(at)
}

// Tick gives up when the time is over.
func (l *Led) Tick(now time.Time) {
	if l.Outcome != Waiting || !l.Ready() {
		return
	}
	if l.proof.stayed(now) {
		l.settle()
		return
	}
	if !now.Before(l.ready.Add(l.Within)) && l.proof.phase != staying {
		l.giveUp(fmt.Sprintf("No channel took a load within %s", l.Within))
	}
}

// End ends the waiting: there are no more readings.
func (l *Led) End() {
	if l.Open() {
		l.giveUp("The readings ended and no channel took a load")
	}
}

// Break ends the waiting because of a danger.
func (l *Led) Break(d Danger) {
	if l.Open() {
		l.unproved("Broken off: " + d.Error())
	}
}

// giveUp ends the waiting: with what several channels took, or with nothing.
func (l *Led) giveUp(why string) {
	switch {
	case l.Outcome == Asking:
		l.unproved(l.Step.rose() + ", and nobody said whose load it was")
		return
	case l.proof.phase != first:
		l.unproved(l.proof.says(why))
		return
	}
	if l.taken {
		l.Outcome = Unclear
		l.Says += ". Take a load from leg to neutral, and try again"
		return
	}
	l.Outcome = NothingSeen
	l.Says = fmt.Sprintf("%s. If it did come on, no CT sits on leg %d", why, l.Leg)
	l.Findings = []wiring.Finding{{Test: wiring.LoadStep, Leg: l.Leg, Outcome: wiring.NoChannel}}
}
