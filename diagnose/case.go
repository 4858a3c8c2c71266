package diagnose

import (
	"legwork/diagnose/internal/evidence"
	"legwork/diagnose/internal/frames"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
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

// Case gathers the readings of one meter and judges them. It keeps states of
// the load, not readings, so that a day of them takes little memory.
type Case struct {
	options Options
	last    reading.Reading
	raw     reading.Reading // the last one as it came
	history evidence.History
	view    evidence.Limits
	signed  bool // a reactive register was below zero once: it has a sign
	screen  evidence.Screen
	mixed   *mixed
}

// New opens a case.
func New(o Options) *Case {
	if o.Tables == nil {
		o.Tables = NewTables()
	}
	c := &Case{options: o, view: evidence.Limits{MinCurrent: o.minCurrent()}, history: evidence.NewHistory(o.MostStates)}
	if o.Line != nil {
		c.mixed = &mixed{line: o.Line}
	}
	return c
}

// Add takes one more reading of the same meter, in order of time. It may be
// called any number of times; odd data is reported in the Result, never refused.
func (c *Case) Add(r reading.Reading) {
	after := evidence.Seconds(c.last.At, r.At)
	c.raw = r
	c.mixed.add(r)
	c.last = c.screen.Screen(r)
	r = c.last
	c.signed = c.signed || evidence.AnyNegativeReactive(&r)
	var now [3]evidence.Observation
	for k := range min(len(r.Channels), len(now)) {
		now[k] = c.view.Observe(r.Channels[k])
	}
	c.history.Add(now, after)
}

// Result judges what has been added so far.
func (c *Case) Result() Result {
	if len(c.history.States) == 0 {
		c.history.Add([3]evidence.Observation{}, 1)
	}
	j := c.judge()
	return j.result()
}

func (c *Case) judge() *judgement {
	j := &judgement{tables: c.options.Tables, options: c.options, reading: &c.last, channels: c.last.Channels}
	for _, f := range c.screen.Faults {
		j.faults = append(j.faults, dataFault(f))
	}
	c.weigh(j)
	j.service = j.services[0]
	if g := j.top(); g != nil {
		j.service = g.Service
	}
	j.misread = evidence.Doubt(&c.raw, c.screen.Faults)
	j.neutral = j.neutralLost(&c.history)
	j.currents = j.currentFaults()
	j.blame()
	j.faults = append(j.faults, j.currents...)
	j.decide()
	c.mix(j)
	return j
}

// Diagnose judges readings of one meter, in order of time.
func Diagnose(readings []reading.Reading, o Options) Result {
	c := New(o)
	for _, r := range readings {
		c.Add(r)
	}
	return c.Result()
}

// servicesOf gives the declared service, or those that the voltages fit, the
// best first, and whether it was inferred.
func servicesOf(r *reading.Reading, declared string) ([]wiring.Service, bool) {
	for _, name := range [...]string{declared, r.Service} {
		if name == "" {
			continue
		}
		if s, err := wiring.ParseService(name); err == nil {
			return []wiring.Service{frames.PlaceHighLeg(r, s)}, false
		}
	}
	return frames.FittingServices(r), true
}

// ParseFinding reads the result of a test as a person writes it; the error shows
// what can be said.
func ParseFinding(text string) (Finding, error) { return wiring.ParseFinding(text) }

// FindingExamples shows every form that ParseFinding reads.
func FindingExamples() []string { return wiring.FindingExamples() }
