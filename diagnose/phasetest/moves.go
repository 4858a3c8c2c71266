package phasetest

import (
	"fmt"
	"slices"

	"legwork/diagnose/wiring"
)

// moves says what to move where so that every voltage input is on the leg of
// its number; none where it already is.
func (j *judgement) moves() []string {
	m := j.top()
	all := []string{}
	if slices.Equal(m, home(len(m))) {
		return all
	}
	all = append(all, "Open the reference breaker, lock it out, and prove every voltage input dead, each to the others "+
		"and to ground: a tap may be fed from elsewhere")
	if m.oneToOne(j.t.Service.Legs()) {
		all = append(all, j.exchanges()...)
	} else {
		all = append(all, j.refeeds()...)
	}
	all = append(all, "Close up, restore, and take the phase test again: every pole should be on the leg of its number")
	kind := j.t.Service.Kind
	if m.oneToOne(j.t.Service.Legs()) && (kind == wiring.Wye || kind == wiring.SplitPhase || kind == wiring.WyeLegs) {
		all = append(all, "Or, instead of all this, leave the voltage leads and let the CTs follow them: "+j.follow()+"; "+
			"the energy is right, only the names of the legs differ")
	}
	return all
}

// oneToOne reports that every leg has one pole.
func (m mapping) oneToOne(legs int) bool {
	for i := range legs {
		if !slices.Contains(m, state(i)) {
			return false
		}
	}
	return true
}

// exchanges moves the leads at the meter's voltage inputs.
func (j *judgement) exchanges() []string {
	m := j.top()
	var moved []int
	for k, s := range m {
		if int(s) != k {
			moved = append(moved, k)
		}
	}
	var all []string
	if len(moved) == 2 {
		all = append(all, fmt.Sprintf("Exchange the leads at voltage inputs %d and %d", moved[0]+1, moved[1]+1))
	} else {
		for _, k := range moved {
			all = append(all, fmt.Sprintf("Move the lead of pole %d from voltage input %d to voltage input %d (leg %s)", k+1,
				k+1, int(m[k])+1, j.t.name(m[k])))
		}
	}
	return all
}

// follow places the CTs by the poles as they were found.
func (j *judgement) follow() string {
	var all []string
	for k, s := range j.top() {
		all = append(all, fmt.Sprintf("CT %d on leg %s", k+1, j.t.name(s)))
	}
	return listed(all)
}

// refeeds speaks of poles that have no leg of their own.
func (j *judgement) refeeds() []string {
	m := j.top()
	legs := m.assigned()
	var all []string
	for k, s := range m {
		input, leg := k+1, LegName(j.t.Service, legs[k]+1)
		switch {
		case s == deadPole && j.t.Dead:
			all = append(all, fmt.Sprintf("Pole %d is on no leg: find the open fuse, breaker or lead, and read it again", input))
		case s == deadPole:
			all = append(all, fmt.Sprintf("Pole %d is on no leg: find the open fuse, breaker or lead, or the lead on the neutral, "+
				"and read it again", input))
		case legs[k] != int(s):
			all = append(all, fmt.Sprintf("Pole %d is %s: with the supply locked out and proved dead, feed it from leg %s, "+
				"and bring its lead to voltage input %d", input, j.t.shared(s), leg, legs[k]+1))
		case legs[k] != k:
			all = append(all, fmt.Sprintf("Pole %d is on leg %s: bring its lead to voltage input %d", input, leg, legs[k]+1))
		}
	}
	return all
}

// assigned gives each pole a leg of its own, from 0: a pole keeps the leg that
// it is on, and of several the one whose number it has, or the first; the
// others take what is left, their own number before another.
func (m mapping) assigned() []int {
	legs := make([]int, len(m))
	taken := make([]bool, len(m))
	for k := range m {
		legs[k] = -1
	}
	give := func(k, leg int) {
		if legs[k] < 0 && !taken[leg] {
			legs[k], taken[leg] = leg, true
		}
	}
	for k, s := range m {
		if int(s) == k {
			give(k, k)
		}
	}
	for k, s := range m {
		if s >= 0 {
			give(k, int(s))
		}
	}
	for k := range m {
		give(k, k)
	}
	for k := range m {
		for leg := range m {
			give(k, leg)
		}
	}
	return legs
}

// shared says where a pole is that has to be fed anew.
func (t Test) shared(s state) string {
	if s == elsewhere {
		return t.words(s)
	}
	return t.words(s) + ", which another pole has"
}
