package loadstep

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"legwork/probe/reading"
)

// A load that comes on by itself just then looks like the one that was asked for. What a
// step shows counts only once it is proved to be the person's.

// Proof is how.
type Proof uint8

// The proofs.
const (
	Asked Proof = iota // the person says so
	Sized              // it has the size that the person said before
	Twice              // it goes off and comes back on request, and then stays
)

// Size is that of a load: in W, or in A. The zero value is none.
type Size struct{ Watts, Amps float64 }

// ParseSize reads "1.5 kW" or "12 A".
func ParseSize(text string) (Size, error) {
	plain := strings.TrimSpace(text)
	unit := "W"
	switch {
	case strings.HasSuffix(plain, "A"):
		unit = "A"
	case !strings.HasSuffix(plain, "W"):
		return Size{}, fmt.Errorf("%q has no unit; say 1.5 kW or 12 A", text)
	}
	x, err := reading.ParseQuantity(plain, unit)
	if err != nil {
		return Size{}, err
	}
	if !(x > 0) {
		return Size{}, errors.New("a load's size is above 0, such as 1.5 kW or 12 A")
	}
	if unit == "A" {
		return Size{Amps: x}, nil
	}
	return Size{Watts: x}, nil
}

// String is the size as ParseSize reads it.
func (s Size) String() string {
	if s.Amps > 0 {
		return fmt.Sprintf("%.4g A", s.Amps)
	}
	return fmt.Sprintf("%.4g kW", s.Watts/1000)
}

// How near to its plate a load's size is, as shares: a motor's current is larger than its
// power says, and a heater ages. Our choice, no source.
const (
	leastOfPlate = 0.8
	mostOfPlate  = 1.35
	mostOfAmps   = 1.2
)

// fits reports a step of that size, on the channel that took most of it.
func (s Size) fits(step *Step) bool {
	var amps, volts float64
	for _, c := range step.Changes {
		if c.Amps > amps {
			amps, volts = c.Amps, c.Volts
		}
	}
	if s.Amps > 0 {
		return amps >= leastOfPlate*s.Amps && amps <= mostOfAmps*s.Amps
	}
	return amps*volts >= leastOfPlate*s.Watts && amps*volts <= mostOfPlate*s.Watts
}

// The phases of a proof by switching.
type phase uint8

const (
	first   phase = iota // the load is to come on
	offNext              // it is to go off again
	onNext               // it is to come on again
	staying              // it is to stay on, longer than it would by itself
)

// proof is how far a proof has come.
type proof struct {
	phase phase
	onAt  time.Time     // when the load came on last
	lasts time.Duration // how long it was on the first time
	again int           // changes like it that nobody asked for
}

// staysFor is for how many times as long as it was on before a load must stay to be no
// cycling one: those of a thermostat vary by a part. At least leastStay. Our choice.
const (
	staysFor  = 2
	leastStay = 5 * time.Second
)

// stayed reports a load that has stayed on long enough.
func (p *proof) stayed(now time.Time) bool {
	return p.phase == staying && !now.Before(p.onAt.Add(max(leastStay, staysFor*p.lasts)))
}

// says is why a proof didn't come about.
func (p *proof) says(why string) string {
	switch p.phase {
	case offNext:
		return "A load came on and didn't go off again as asked: it may have come on by itself"
	case onNext:
		return "A load came on, went off, and didn't come on again as asked: it may go on and off by itself"
	case staying:
		return "The readings ended before the load had stayed on long enough to be no cycling one"
	}
	return why
}

// follow takes a step while one is waited for.
func (l *Led) follow(s Step, r reading.Reading) {
	switch p := &l.proof; p.phase {
	case first:
		if l.Outcome == Asking {
			return
		}
		itself := slices.ContainsFunc(l.others, func(o Step) bool { return alike(&o, &s) })
		l.others = append(l.others[max(0, len(l.others)-mostOthers+1):], s)
		if l.take(s, r) {
			l.begin(s, r, itself)
		}
	case offNext, onNext:
		if !alike(&l.Step, &s) || s.On() != (p.phase == onNext) {
			l.Note = "Not that load: " + s.String()
			return
		}
		l.Note, l.ready = "", r.At
		if p.phase == offNext {
			p.phase, p.lasts = onNext, r.At.Sub(p.onAt)
			return
		}
		p.phase, p.onAt = staying, r.At
	case staying:
		if alike(&l.Step, &s) {
			l.unproved(cycles)
		}
	}
}

const cycles = "A load like it goes on and off by itself, so that nothing is known of yours: " +
	"take another load, or hold that one off"

// mostOthers is how many changes that nobody asked for are remembered.
const mostOthers = 50

// begin starts to prove a step that may be the one; itself says that a load like it went
// on or off before, while nobody was asked to switch it.
func (l *Led) begin(s Step, r reading.Reading, itself bool) {
	switch {
	case l.By == Asked:
		l.Outcome, l.Question = Asking, fmt.Sprintf("%s at %s. Was that yours?", s.rose(), s.At.Format(time.TimeOnly))
		if itself {
			l.Question += " A load like it was switched before, when nobody was asked to"
		}
		return
	case itself:
		l.Note, l.Findings, l.found = s.String()+", and a load like it was switched before, when nobody was asked to",
			nil, Waiting
		return
	}
	switch l.By {
	case Sized:
		if !l.Expect.fits(&s) {
			l.Note = fmt.Sprintf("%s, which isn't the %s that is expected", s, l.Expect)
			l.Findings, l.found = nil, Waiting
			return
		}
		l.settle()
	case Twice:
		l.Note, l.ready = "", r.At
		l.proof.phase, l.proof.onAt = offNext, r.At
	}
}

// settle takes what a proved step showed for its outcome.
func (l *Led) settle() { l.Outcome, l.Question, l.Note = l.found, "", "" }

// Answer is what the person says of the load that came on.
func (l *Led) Answer(theirs bool, at time.Time) {
	if l.Outcome != Asking {
		return
	}
	if theirs {
		l.settle()
		return
	}
	l.Note = "It wasn't yours: " + l.Step.String()
	l.Outcome, l.Question, l.Findings, l.found, l.Says, l.ready = Waiting, "", nil, Waiting, "", at
}

// mostAgain is how many changes like a proved one may follow it: the load goes off, and
// is put on once more.
const mostAgain = 2

// afterwards counts changes like a proved step: a load that goes on and off by itself was
// nobody's test. Readings after it come from a capture.
func (l *Led) afterwards(s Step) {
	if l.By == Asked || l.found == Waiting || !alike(&l.Step, &s) {
		return
	}
	if l.proof.again++; l.proof.again > mostAgain {
		l.unproved(cycles)
	}
}

// sameSize is how far two changes of one load may differ, as a share. Our choice.
const sameSize = 0.15

// alike reports changes of the same channels by the same currents, on or off.
func alike(a, b *Step) bool {
	if len(a.Changes) != len(b.Changes) {
		return false
	}
	for i := range a.Changes {
		x, y := &a.Changes[i], &b.Changes[i]
		if x.Channel != y.Channel || math.Abs(x.Amps-y.Amps) > sameSize*x.Amps+max(x.least, y.least) {
			return false
		}
	}
	return true
}

func (s *Step) rose() string {
	parts := make([]string, len(s.Changes))
	for i, c := range s.Changes {
		parts[i] = fmt.Sprintf("channel %d rose by %s", c.Channel, strings.ReplaceAll(c.String(), "+", ""))
	}
	text := strings.Join(parts, ", ")
	return strings.ToUpper(text[:1]) + text[1:]
}
