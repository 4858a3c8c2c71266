package diagnose

import (
	"legwork/diagnose/internal/advice"
	"legwork/diagnose/internal/loadmodel"
	"legwork/diagnose/internal/prior"
	"legwork/diagnose/wiring"
)

// Finding is the result of a test that a person made.
type Finding = wiring.Finding

// Options set how a case is judged. The zero value is useful.
type Options struct {
	// Service is the name of the declared service; empty, or a name that isn't
	// one, infers it from the voltages.
	Service string
	// MinCurrent in A: a channel below it says nothing. Zero means DefaultMinCurrent.
	MinCurrent float64
	// Decide is the probability at which a verdict is given. Zero means DefaultDecide.
	Decide float64
	// VoltageOutputCTs declares CTs whose open secondary is no danger.
	VoltageOutputCTs bool
	// Generation is what is declared of power that flows from the panel to the supply.
	Generation Generation
	// Load is what is declared to be behind the meter; nil for any mixture.
	Load []LoadSort
	// CTPrimary is the rated primary current of the CTs, A, as their plates say; 0
	// where it isn't known.
	CTPrimary float64
	// Findings are the results of tests that a person made.
	Findings []Finding
	// MostStates bounds how many states of the load are kept, and with them the
	// memory of a case; zero means 200, beyond which nothing more is learnt.
	MostStates int
	// Line gives the line of the reading that Add takes, where readings come from a file:
	// those may be of more than one meter. Nil where one meter is asked.
	Line func() int
	// Tables are shared with other cases. Nil makes new ones for this case.
	Tables *Tables
}

// Defaults of Options.
const (
	DefaultMinCurrent = 1.0 // A in the primary; common practice, no source
	DefaultDecide     = 0.9
)

func (o Options) minCurrent() float64 {
	if o.MinCurrent > 0 {
		return o.MinCurrent
	}
	return DefaultMinCurrent
}

func (o Options) decide() float64 {
	if o.Decide > 0 {
		return o.Decide
	}
	return DefaultDecide
}

// kindsOf gives them as the load model knows them.
func kindsOf(all []LoadSort) (kinds loadmodel.Kinds) {
	of := map[LoadSort]loadmodel.Kinds{Motors: loadmodel.Motors, Heating: loadmodel.Heating, Lighting: loadmodel.Lighting,
		Electronics: loadmodel.Electronics, Drives: loadmodel.Drives, Capacitors: loadmodel.Capacitors}
	for _, s := range all {
		kinds |= of[s]
	}
	return kinds
}

// Tables hold what is worked out once and used by every case: the densities of
// load angles, the priors, and what is said of each arrangement. They are filled
// as they are needed, and may be used from several goroutines. The first verdict
// on a kind of service takes some tens of milliseconds to fill them, so that
// whoever judges more than one meter hands the same ones to all.
type Tables struct {
	known   *prior.Tables
	phrases advice.Phrases
}

// NewTables makes tables that hold nothing yet.
func NewTables() *Tables { return &Tables{known: prior.NewTables()} }
