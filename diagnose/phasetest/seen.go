package phasetest

import (
	"fmt"

	"legwork/diagnose/wiring"
)

// Sentences turns a settled result into what the diagnosis takes as the result
// of a test: which voltage inputs share a conductor, and which don't. The
// diagnosis counts legs by their voltage inputs, so the legs' own names would
// tell it nothing. On a three-wire delta an input is a pair of poles, and no
// sentence is made; nor of a pole that is dead. Inputs are taken as found,
// before any move.
func Sentences(r Result) []string {
	all := []string{}
	if r.Verdict == wiring.Undecided || delta(r.Service) {
		return all
	}
	for i, a := range r.Poles {
		for _, b := range r.Poles[i+1:] {
			if !a.placed() || !b.placed() {
				continue
			}
			volts := "line"
			if *a.On == *b.On {
				volts = "0 V"
			}
			all = append(all, fmt.Sprintf("input %d to input %d: %s", a.Pole, b.Pole, volts))
		}
	}
	return all
}

// placed reports a pole that is on some leg.
func (p PoleJudged) placed() bool { return p.On != nil && *p.On != "dead" && *p.On != "no leg" }

func delta(name string) bool {
	s, err := wiring.ParseService(name)
	return err == nil && s.Kind == wiring.Delta
}
