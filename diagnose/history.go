package diagnose

import (
	"cmp"
	"math"
	"math/cmplx"
)

// history is the states of a case, in order of time.
type history struct {
	states []state
	most   int  // that are kept; 0 is mostStates
	full   bool // there were more than are kept
}

// add takes one more reading's sights, so many seconds after the last one. A
// state that hasn't lasted was a part of a change: what comes next takes its place.
func (h *history) add(now [3]sight, after float64) {
	if n := len(h.states); n > 0 {
		latest := &h.states[n-1]
		if latest.follows(&now) {
			latest.absorb(&now, after)
			return
		}
		latest.lasted += after
		if latest.lasted < settleTime {
			h.states = h.states[:n-1]
		}
	}
	switch n := len(h.states); {
	case n > 0 && h.states[n-1].follows(&now): // back after a blip
		h.states[n-1].absorb(&now, after)
	case n == cmp.Or(h.most, mostStates):
		h.full = true
		h.states[n-1] = newState(now)
	default:
		h.states = append(h.states, newState(now))
	}
}

// baseAt is the first state with the most loaded channels: the base.
func (h *history) baseAt() int {
	best := 0
	for i := range h.states {
		if h.states[i].loaded() > h.states[best].loaded() {
			best = i
		}
	}
	return best
}

// mostOrdinary is how many states may be the ordinary one of a case.
const mostOrdinary = 12

// ordinary lists the states that may be the one which shows the panel as panels
// are, the base first. A change of load leads from any state to any other, so one
// alone counts, and which it is isn't known: an odd load may have been on at
// first. Where an angle has two signs the base is taken for it, since the signs
// are followed from there.
func (h *history) ordinary() [][3]sight {
	base := h.baseAt()
	all := [][3]sight{h.states[base].sights}
	for i := range h.states {
		if s := &h.states[i]; i != base && !s.repeats && s.loaded() == h.states[base].loaded() && len(all) < mostOrdinary {
			all = append(all, s.sights)
		}
	}
	for i := range all {
		for k := range all[i] {
			if all[i][k].n > 1 {
				return all[:1]
			}
		}
	}
	return all
}

// markRepeats finds the changes that match an earlier one up to sign, and sets
// every state's phasors.
func (h *history) markRepeats() (fresh int) {
	for i := range h.states {
		for e := range h.states[i].edges {
			h.states[i].edges[e].setPhasors()
		}
	}
	for i := 1; i < len(h.states); i++ {
		h.states[i].repeats = h.full && i == len(h.states)-1
		for j := 1; j < i && !h.states[i].repeats; j++ {
			h.states[i].repeats = h.sameChange(i, j)
		}
		if !h.states[i].repeats {
			fresh++
		}
	}
	return fresh
}

// sameChange compares the changes into states i and j, as sizes and, where
// angles are known, as phasors up to a common sign.
func (h *history) sameChange(i, j int) bool {
	before, after := &h.states[i-1].edges[closing], &h.states[i].edges[opening]
	was, is := &h.states[j-1].edges[closing], &h.states[j].edges[opening]
	for _, sign := range [...]complex128{1, -1} {
		same := true
		for k := range after.sights {
			a, b := after.z[k][0]-before.z[k][0], is.z[k][0]-was.z[k][0]
			noise := math.Hypot(after.sights[k].noise(), is.sights[k].noise()) * math.Sqrt2
			allow := changeSigmas*noise + 0.03*cmplx.Abs(b)
			same = same && cmplx.Abs(a-sign*b) < allow
		}
		if same {
			return true
		}
	}
	return false
}
