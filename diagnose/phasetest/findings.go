package phasetest

import (
	"fmt"

	"legwork/diagnose/wiring"
)

// findings turns a settled test into what the diagnosis takes as the result of
// one: which voltage inputs share a conductor, and which don't. The diagnosis
// counts legs by their voltage inputs, so the legs' own names would mean nothing
// to it. On a three-wire delta an input is a pair of poles, and there is no
// finding; nor is there of a pole that is dead. Inputs are taken as found, before
// any move.
func (j *judgement) findings() []string {
	all := []string{}
	if !j.settled() || j.t.Service.Kind == wiring.Delta {
		return all
	}
	m := j.top()
	for k := range m {
		for l := k + 1; l < len(m); l++ {
			volts := "line"
			switch {
			case m[k] == deadPole || m[l] == deadPole:
				continue
			case m[k] == m[l]:
				volts = "0 V"
			}
			all = append(all, fmt.Sprintf("input %d to input %d: %s", k+1, l+1, volts))
		}
	}
	return all
}
