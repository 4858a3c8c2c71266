package phasetest

import (
	"slices"

	"legwork/diagnose/wiring"
)

// judgement is one test while it is judged.
type judgement struct {
	t    Test
	all  []Reading
	set  gathered
	y    *tally
	left left
}

// weigh says what the readings leave open.
func (t Test) weigh(all []Reading) *judgement {
	j := &judgement{t: t, all: all, set: t.gather(all)}
	j.y = t.tally(j.set.counts)
	j.left = j.y.left()
	return j
}

// settled needs one mapping alone, every tap on a leg read live, and a tester
// that was proved.
func (j *judgement) settled() bool {
	return j.t.Proved && j.left.single() && len(j.unchecked()) == 0
}

// top is the mapping that explains most.
func (j *judgement) top() mapping { return j.y.mappings[j.left.open[0]] }

func (j *judgement) unchecked() []int { return j.y.unchecked(j.left.open[0], j.set.counts) }

func (j *judgement) verdict() wiring.Verdict {
	switch {
	case !j.settled():
		return wiring.Undecided
	case slices.Equal(j.top(), home(j.t.Poles())):
		return wiring.Agrees
	}
	return wiring.Fault
}

// home is the mapping with every pole on the leg of its number.
func home(poles int) mapping {
	m := make(mapping, poles)
	for k := range m {
		m[k] = state(k)
	}
	return m
}

// tapRead reports whether there is a reading that could show the tap live.
func (j *judgement) tapRead(pole int) bool {
	if hasNeutral(j.t.Service) {
		return j.set.has(tap(pole))
	}
	return slices.ContainsFunc(j.set.counts, func(r Reading) bool { return r.Pair.touches(pole) })
}

// tapVolts is what a tap reads to neutral; nil where it wasn't read.
func (j *judgement) tapVolts(pole int) (volts *float64) {
	for _, r := range j.set.counts {
		if r.Pair == tap(pole) {
			volts = &r.Volts
		}
	}
	return volts
}
