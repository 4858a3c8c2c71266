package loadstep

import (
	"fmt"

	"legwork/diagnose"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// Danger is why no load step is led: a caution about what a reading shows.
type Danger struct{ Caution string }

// Error is one line.
func (d Danger) Error() string { return "no load step now. " + d.Caution }

// Dangers lists the cautions about what one reading shows by itself: a case keeps
// states of the load, and a CT that has just gone silent may be open.
func Dangers(r reading.Reading, o diagnose.Options) []string {
	o.Findings = nil
	var all []string
	for _, c := range diagnose.Diagnose([]reading.Reading{r}, o).Cautions {
		if !diagnose.Standing(c) {
			all = append(all, c)
		}
	}
	return all
}

// Ask is what the technician is to do.
func (l *Led) Ask() string {
	switch l.proof.phase {
	case offNext:
		return fmt.Sprintf("%s. Switch it off again now", l.Step.rose())
	case onNext:
		return "It went off. Switch the same load on once more"
	case staying:
		return "It came on again. Leave it on"
	}
	if l.service.Kind == wiring.Delta {
		return fmt.Sprintf("Switch a load of a few amperes between legs %d and 2 on now", l.Leg)
	}
	return fmt.Sprintf("Switch a load of a few amperes on leg %d on now", l.Leg)
}
