package desk

import (
	"cmp"
	"time"

	"legwork/diagnose"
	"legwork/probe/reading"
)

// Bounds of what is kept of a meter. Our choice, from trials with simulated
// meters whose CTs are turned round: states of the load beyond these changed no
// verdict, and a longer window found the turn later.
const (
	window     = 10 * time.Minute
	longest    = 12 * time.Hour // that evidence stays where nothing as good replaces it
	mostStates = 8
	fewest     = 4 // readings before a young case may speak
)

// evidence is what speaks for a meter's wiring: two cases, the one begun half a
// window after the other. The older one judges; when it has had its window the
// younger takes its place, so that what was wired otherwise is forgotten. A case
// that saw more channels loaded stays until the other has seen as many.
type evidence struct {
	options    diagnose.Options
	old, young *hearing
}

// hearing is one case with what it has heard.
type hearing struct {
	on     *diagnose.Case
	begun  time.Time
	heard  int
	loaded int // channels that carried load at once, at most
}

func newEvidence(o diagnose.Options) *evidence {
	o.MostStates = mostStates
	return &evidence{options: o}
}

func (e *evidence) begin(at time.Time) *hearing {
	return &hearing{on: diagnose.New(e.options), begun: at}
}

// add takes a reading, in order of time.
func (e *evidence) add(r *reading.Reading) {
	if e.old == nil {
		e.old = e.begin(r.At)
	}
	if e.young == nil && r.At.Sub(e.old.begun) >= window/2 {
		e.young = e.begin(r.At)
	}
	n := e.loaded(r)
	e.old.add(r, n)
	if e.young == nil {
		return
	}
	e.young.add(r, n)
	if age := r.At.Sub(e.old.begun); age >= window && (e.young.loaded >= e.old.loaded || age >= longest) &&
		r.At.Sub(e.young.begun) >= window/2 {
		e.old, e.young = e.young, e.begin(r.At)
	}
}

func (h *hearing) add(r *reading.Reading, loaded int) {
	h.on.Add(*r)
	h.heard++
	h.loaded = max(h.loaded, loaded)
}

func (e *evidence) loaded(r *reading.Reading) int {
	least, n := cmp.Or(max(0, e.options.MinCurrent), diagnose.DefaultMinCurrent), 0
	for _, c := range r.Channels {
		if c.Current.Or(0) >= least {
			n++
		}
	}
	return n
}

// sure is the probability at which a younger case goes before an older one that
// says something else. Our choice.
const sure = 0.98

// result judges. The older case speaks, unless the younger one, which may have
// begun after a change, is decided where the older is in doubt, or is sure of
// something else.
func (e *evidence) result() diagnose.Result {
	r := e.old.on.Result()
	if e.young == nil || e.young.heard < fewest {
		return r
	}
	y := e.young.on.Result()
	other := y.Likeliest().Words != r.Likeliest().Words && y.Likeliest().Probability >= sure
	if y.Verdict != diagnose.Undecided && (r.Verdict == diagnose.Undecided || other) {
		return y
	}
	return r
}
