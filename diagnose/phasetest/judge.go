package phasetest

import (
	"slices"

	"legwork/diagnose/wiring"
)

// Judge says what the readings, in the order in which they were taken, say of
// the poles. It never fails: the result says what can't be.
func (t Test) Judge(readings []Reading) Result {
	j := t.weigh(readings)
	r := Result{Legwork: ResultVersion, Service: t.Service.Name, Method: t.method(), Proved: t.Proved,
		Verdict: j.verdict(), Contradicting: j.left.best > 0, Cautions: t.Cautions()}
	r.Poles, r.Readings, r.Explanations = j.poles(), j.readings(), j.explanations()
	r.HighLeg = j.highLeg()
	r.Missing, r.Danger = []string{}, []string{}
	for _, p := range t.missing(j.set) {
		r.Missing = append(r.Missing, PairName(t.Service, p))
	}
	r.Moves, r.CTs, r.Notes = []string{}, []CTPlace{}, []string{}
	if r.Verdict == wiring.Undecided {
		r.Next = j.next()
	} else {
		r.Moves = j.moves()
		if j.top().oneToOne(t.Service.Legs()) { // else poles are to be fed anew, and read again
			r.CTs = t.places(j.high())
			r.Cautions = append(r.Cautions, cautionCTs)
		}
	}
	r.Notes = j.notes()
	r.Findings = j.findings()
	r.Summary = j.summary()
	if all := j.adrift(); all != nil {
		j.stopped(&r, all)
	}
	return r
}

func (j *judgement) openMappings() []mapping {
	var all []mapping
	for _, i := range j.left.open {
		all = append(all, j.y.mappings[i])
	}
	return all
}

// poles judges each pole by itself: it is placed where all that is left open
// agrees on it, its tap was read live and the tester was proved.
func (j *judgement) poles() []PoleJudged {
	var all []PoleJudged
	unchecked := j.unchecked()
	for k := 1; k <= j.t.Poles(); k++ {
		p := PoleJudged{Pole: k, Possible: j.possible(k)}
		if len(p.Possible) == 1 && j.left.best <= oneWrong && j.t.Proved && !slices.Contains(unchecked, k) {
			p.On = &p.Possible[0]
		}
		if at, ok := j.likely(k); ok {
			p.Likely = &at
		}
		if !j.t.Dead && j.tapRead(k) {
			live := j.y.live(j.left.open[0], k, j.set.counts)
			p.Live = &live
			p.Volts = j.tapVolts(k)
		}
		all = append(all, p)
	}
	return all
}

// likely is where a pole is if no reading is wrong, as far as that is one place.
func (j *judgement) likely(pole int) (string, bool) {
	at := j.t.name(j.top()[pole-1])
	for _, i := range j.left.open {
		if j.y.cost(i) == 0 && j.t.name(j.y.mappings[i][pole-1]) != at {
			return "", false
		}
	}
	return at, j.left.best == 0 && len(j.set.counts) > 0
}

// possible lists where a pole may be, the best explained first.
func (j *judgement) possible(pole int) []string {
	var all []string
	for _, m := range j.openMappings() {
		if name := j.t.name(m[pole-1]); !slices.Contains(all, name) {
			all = append(all, name)
		}
	}
	return all
}

// explanations lists the mappings that are left open. Before anything was read
// that is all of them, which says nothing.
func (j *judgement) explanations() []Explanation {
	all := []Explanation{}
	for _, i := range j.left.open {
		m := j.y.mappings[i]
		x := Explanation{Words: j.t.said(m), Wrong: []string{}}
		for _, s := range m {
			x.Poles = append(x.Poles, j.t.name(s))
		}
		for _, r := range j.y.wrong(i, j.set.counts) {
			x.Wrong = append(x.Wrong, j.t.Write(r))
		}
		all = append(all, x)
	}
	return all
}

// high is the leg that stands high under the best mapping: NoLeg where there is
// none or the readings don't say.
func (j *judgement) high() wiring.Leg {
	i := j.left.open[0]
	best := wiring.NoLeg
	for n, misses := range j.y.misses[i] {
		if misses > j.left.best {
			continue
		}
		if best != wiring.NoLeg {
			return wiring.NoLeg // more than one would do
		}
		best = j.y.worlds[n].high
	}
	return best
}

func (j *judgement) highLeg() *string {
	high := j.high()
	if high == wiring.NoLeg {
		return nil
	}
	name := LegName(j.t.Service, int(high))
	return &name
}

func (j *judgement) next() *Next {
	c := j.y.next(j.set, j.left)
	if c == nil || j.left.single() && len(j.unchecked()) == 0 {
		return nil // only the tester is to be proved
	}
	return j.y.said(c)
}
