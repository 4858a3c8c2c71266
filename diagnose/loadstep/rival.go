package loadstep

import (
	"time"

	"legwork/diagnose"
	"legwork/probe/reading"
)

// A case believes that the wiring stays while it is open, so a CT that is turned
// while someone watches would be taken for an odd load for ever. Where the readings
// jump as they do when conductors are moved, a second case is opened on what comes
// after: the rival. When it is sure of other wiring for some readings on end, it takes
// over.

// Our choice, no source.
const (
	rivalSure     = 0.95 // the first explanation's probability
	rivalReadings = 4    // and verdicts on end that differ
	rivalAgrees   = 10   // verdicts that agree, and the case goes on as it was
)

// Rival is a case on what came after a change that may have been one of the wiring.
type Rival struct {
	Case   *diagnose.Case
	Before diagnose.Result // what was said before; the case may come round by itself
	Since  time.Time

	readings int
	differ   int // verdicts on end that were sure of other wiring
	agree    int // that were sure of the same
}

// Suspect opens a rival. What tests showed is of the wiring before.
func Suspect(o diagnose.Options, before diagnose.Result, since time.Time) *Rival {
	o.Findings = nil
	return &Rival{Case: diagnose.New(o), Before: before, Since: since}
}

// Add takes a reading.
func (v *Rival) Add(r reading.Reading) {
	v.Case.Add(r)
	v.readings++
}

// Judge compares the rival with what was said before: it takes over, or it is done
// with, or the question is open.
func (v *Rival) Judge() (takesOver, done bool) {
	if v.readings < rivalReadings {
		return false, false
	}
	r := v.Case.Result()
	sure := r.Verdict != diagnose.Undecided && r.Likeliest().Probability >= rivalSure
	switch {
	case sure && otherWiring(r, v.Before):
		v.differ++
	case sure:
		v.differ, v.agree = 0, v.agree+1
	default:
		v.differ = 0
	}
	return v.differ >= rivalReadings, v.agree >= rivalAgrees
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
