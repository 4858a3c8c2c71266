package phasetest

import (
	"fmt"
	"slices"

	"legwork/diagnose/wiring"
)

// Walk leads through a test: the plan, pair by pair, then whatever reading tells
// most until the test is settled, as if the tester were found in order.
type Walk struct {
	Test     Test
	Readings []Reading // in the order in which they were taken
	later    []Pair    // that the person put off, to be asked for once more
	out      []Pair    // that the person put off twice, or beyond the plan
}

// Question is the reading that is wanted now.
type Question struct {
	Pair   Pair
	Name   string
	Words  string // what the probes touch
	May    string // what it may be
	Again  bool   // it was taken before
	Number int    // of the plan, from 1; 0 for one beyond it
	Of     int
}

// Next is the reading that is wanted; ok is false where none is, or none may be taken.
func (w *Walk) Next() (q Question, ok bool) {
	if w.Test.weigh(w.Readings).adrift() != nil {
		return q, false // nothing more is to be measured
	}
	plan := w.Test.Plan()
	ask := func(p Pair) bool { return !w.read(p) && !slices.Contains(w.later, p) && !slices.Contains(w.out, p) }
	n := slices.IndexFunc(plan, ask)
	if n < 0 && len(w.later) > 0 {
		n = slices.Index(plan, w.later[0])
	}
	switch {
	case n >= 0:
		q := w.question(plan[n])
		q.Number, q.Of = n+1, len(plan)
		return q, true
	case len(w.out) > 0:
		return q, false // what was left out would settle it
	}
	return w.further()
}

// further is the reading beyond the plan that tells most, until it is settled.
func (w *Walk) further() (q Question, ok bool) {
	t := w.Test
	t.Proved = true
	j := t.weigh(w.Readings)
	if j.settled() {
		return q, false
	}
	c := j.y.next(j.set, j.left)
	if c == nil {
		return q, false
	}
	return w.question(c.pair), true
}

// Take adds a reading. One that nothing of this service explains is asked for
// again at once.
func (w *Walk) Take(r Reading) (again Question, odd bool) {
	first := !w.read(r.Pair)
	w.Readings = append(w.Readings, r)
	taken := func(p Pair) bool { return p == r.Pair }
	w.later, w.out = slices.DeleteFunc(w.later, taken), slices.DeleteFunc(w.out, taken)
	if first && w.Test.tally(nil).never(r) {
		return w.question(r.Pair), true
	}
	return again, false
}

// Leave puts a reading off. It is asked for once more behind the others; beyond the
// plan, and the second time, it is left out.
func (w *Walk) Leave(p Pair) {
	put := slices.Contains(w.later, p)
	w.later = slices.DeleteFunc(w.later, func(one Pair) bool { return one == p })
	if put || w.read(p) || !slices.Contains(w.Test.Plan(), p) {
		w.out = append(w.out, p)
		return
	}
	w.later = append(w.later, p)
}

func (w *Walk) read(p Pair) bool {
	return slices.ContainsFunc(w.Readings, func(r Reading) bool { return r.Pair == p })
}

func (w *Walk) question(p Pair) Question {
	return Question{Pair: p, Name: PairName(w.Test.Service, p), Words: w.Test.pairWords(p), May: w.Test.may(p),
		Again: w.read(p)}
}

// may says what a pair may read, in words; empty where it isn't of the plan.
func (t Test) may(p Pair) string {
	if !slices.Contains(t.Plan(), p) {
		return ""
	}
	e := t.expected(p)
	switch {
	case e.Closed != nil && *e.Closed:
		return "closed (beep, 0.2 ohm) or open (OL)"
	case e.Closed != nil:
		return "open (OL), if the legs are apart"
	case len(e.Nominal) == 2:
		return fmt.Sprintf("%v, or %v on the high leg", e.Nominal[0], e.Nominal[1])
	case len(e.Nominal) == 1:
		return e.Nominal[0].String()
	}
	return t.mayCross(*e.Same, *e.Another)
}

// mayCross is what a leg and a pole may read; the high leg of a four-wire delta
// gives nothing else to another leg.
func (t Test) mayCross(same, another Band) string {
	if t.Service.Kind == wiring.TwoWire {
		return same.String()
	}
	return fmt.Sprintf("%v or %v", same, another)
}
