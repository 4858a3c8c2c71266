package diagnose

import (
	"fmt"
)

// Cautions that stand before any step that touches a conductor.
const (
	cautionPeople = "Only qualified people open the panel; local codes and licensed practice come before anything said here"
	cautionDead   = "Work dead: lock out, tag, prove dead with a tester that was proved on a known source before and after; " +
		"where it can't be dead, arc-flash protection and a permit are for those licensed"
	// UFC 3-560-01 (2006), 9-5.2: a secondary must never be opened while the primary is energised.
	cautionSecondary = "Never open the secondary of a current-output CT while its primary carries current: dangerous voltage; " +
		"short it first, or take the primary load off"
	cautionReference = "Opening the reference breaker makes the voltage inputs dead and nothing else; the legs stay live, and a tap may be back-fed"
)

// Standing reports whether a caution of a Result is one that stands before
// every move, as against one about what these readings show, which comes first
// and forbids load steps.
func Standing(caution string) bool {
	switch caution {
	case cautionPeople, cautionDead, cautionSecondary, cautionReference:
		return true
	}
	return false
}

// cautionStop goes before everything: with a lost neutral loads are being destroyed.
const cautionStop = "Stop: the neutral of the service may be lost, which destroys loads. Keep away from the panel, switch no load, " +
	"and tell those answerable for the supply"

// cautions lists what stands before the moves of a result.
func (j *judgement) cautions() []string {
	var all []string
	for _, k := range j.MaybeOpen() {
		all = append(all, fmt.Sprintf("CT %d may be open, with a dangerous voltage at its leads: take the primary load off first, "+
			"switch no load on, keep clamp and hands away from its leads", k))
	}
	if j.Stops() {
		all = append([]string{cautionStop}, all...)
	}
	if j.Verdict == Agrees && len(j.Groups) == 1 {
		return all
	}
	all = append(all, cautionPeople, cautionDead, cautionSecondary, cautionReference)
	if g := j.Top(); g != nil {
		for k := range g.Service.Channels() {
			if g.State[k] == InputNeutralCrossed {
				all = append(all, fmt.Sprintf("Inputs meant for %.0f V carry the line voltage: open the reference breaker first", g.Service.Nominal))
			}
		}
	}
	return all
}
