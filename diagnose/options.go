package diagnose

import "legwork/diagnose/wiring"

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
