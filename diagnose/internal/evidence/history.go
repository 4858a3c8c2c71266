package evidence

import (
	"cmp"
	"math"
	"math/cmplx"
	"slices"
	"time"
)

// History is the states of a case, in order of time.
type History struct {
	States []State
	most   int // that are kept
	// Fine has each state learn how still its readings are, so that a load of an
	// ampere shows beside a hundred.
	Fine  bool
	begun int  // states so far
	full  bool // there were more than are kept
	clock clock
}

// NewHistory keeps so many states at most; 0 is the usual number.
func NewHistory(most int) History { return History{most: max(0, most)} }

// Add takes one more reading's observed, so many seconds after the last one. A
// state that hasn't lasted was a part of a change: what comes next takes its place.
func (h *History) Add(now [3]Observation, after float64) {
	if n := len(h.States); n > 0 {
		latest := &h.States[n-1]
		if latest.follows(&now, h.Fine) {
			h.absorb(latest, &now, after)
			return
		}
		latest.lasted += after
		if latest.lasted < settleTime {
			h.States = h.States[:n-1]
		}
	}
	switch n := len(h.States); {
	case n > 0 && h.States[n-1].follows(&now, h.Fine): // back after a blip
		h.absorb(&h.States[n-1], &now, after)
	case n == cmp.Or(h.most, mostStates):
		h.full = true
		h.States[n-1] = h.newState(now)
	default:
		if h.most > 0 && n == cap(h.States) { // where few are kept, of many cases, no room is left over
			h.States = append(make([]State, 0, n+1), h.States...)
		}
		h.States = append(h.States, h.newState(now))
	}
}

// Seconds is the time from one reading to the next; a second where they don't tell.
func Seconds(from, to time.Time) float64 {
	if from.IsZero() || !to.After(from) {
		return 1
	}
	return to.Sub(from).Seconds()
}

func (h *History) absorb(s *State, next *[3]Observation, after float64) {
	if h.Fine {
		s.learn(next)
	}
	s.absorb(next, after)
}

// Latest is the state that the last reading is in.
func (h *History) Latest() *State { return &h.States[len(h.States)-1] }

// Last is a history of the latest state alone, where no change of load can be believed.
func (h *History) Last() *History {
	last := *h
	last.States = slices.Clone(h.States[len(h.States)-1:])
	return &last
}

// Keep forgets all states but the latest few.
func (h *History) Keep(few int) {
	if n := len(h.States) - few; n > 0 {
		h.States = append(h.States[:0], h.States[n:]...)
	}
}

// BaseAt is the first state with the most loaded channels: the base.
func (h *History) BaseAt() int {
	best := 0
	for i := range h.States {
		if h.States[i].loaded() > h.States[best].loaded() {
			best = i
		}
	}
	return best
}

// mostOrdinary is how many states may be the ordinary one of a case.
const mostOrdinary = 12

// Ordinary lists the states which may show the panel as panels
// are, the base first. A change of load leads from any state to any other, so one
// alone counts, and which it is isn't known: an odd load may have been on at
// first. Where an angle has two signs the base is taken for it, since the signs
// are followed from there.
func (h *History) Ordinary() [][3]Observation {
	base := h.BaseAt()
	all := [][3]Observation{h.States[base].Observed}
	for i := range h.States {
		if s := &h.States[i]; i != base && !s.Repeats && s.loaded() == h.States[base].loaded() && len(all) < mostOrdinary {
			all = append(all, s.Observed)
		}
	}
	for i := range all {
		for k := range all[i] {
			if all[i][k].N > 1 {
				return all[:1]
			}
		}
	}
	return all
}

// MarkRepeats finds the changes that match an earlier one up to sign, and sets
// every state's phasors.
func (h *History) MarkRepeats() (fresh int) {
	for i := range h.States {
		for e := range h.States[i].Edges {
			for k := range h.States[i].Edges[e] {
				end := &h.States[i].Edges[e][k]
				end.Z, end.Zs = end.phasors()
			}
		}
	}
	for i := 1; i < len(h.States); i++ {
		h.States[i].Repeats = h.full && i == len(h.States)-1
		for j := 1; j < i && !h.States[i].Repeats; j++ {
			h.States[i].Repeats = h.sameChange(i, j)
		}
		if !h.States[i].Repeats {
			fresh++
		}
	}
	return fresh
}

// sameChange compares the changes into states i and j, as sizes and, where
// angles are known, as phasors up to a common sign.
func (h *History) sameChange(i, j int) bool {
	before, after := &h.States[i-1].Edges[Closing], &h.States[i].Edges[Opening]
	was, is := &h.States[j-1].Edges[Closing], &h.States[j].Edges[Opening]
	for _, sign := range [...]complex128{1, -1} {
		same := true
		for k := range after {
			a, b := after[k].Z[0]-before[k].Z[0], is[k].Z[0]-was[k].Z[0]
			noise := math.Hypot(after[k].Noise(), is[k].Noise()) * math.Sqrt2
			aside := math.Hypot(math.Hypot(after[k].Aside(), is[k].Aside()), math.Hypot(before[k].Aside(), was[k].Aside()))
			allow := ChangeSigmas*noise + aside + 0.03*cmplx.Abs(b)
			same = same && cmplx.Abs(a-sign*b) < allow
		}
		if same {
			return true
		}
	}
	return false
}

// AnySignOpen reports a channel whose angle has two signs in some state.
func (h *History) AnySignOpen() bool {
	for i := range h.States {
		for e := range h.States[i].Edges {
			if slices.ContainsFunc(h.States[i].Edges[e][:], func(x End) bool { return x.Zs == 2 }) {
				return true
			}
		}
	}
	return false
}
