package diagnose

import (
	"legwork/diagnose/internal/evidence"
	"legwork/diagnose/internal/verdict"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

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
	contact evidence.Contact
	pace    evidence.Pace
	counts  evidence.Counters
	mixed   *mixed

	identity identity
	anew     string // why, and from when on, what was read counts; empty where all of it does
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
	c.renew(&r)
	after := evidence.Seconds(c.last.At, r.At)
	c.raw = r
	c.mixed.add(r)
	c.counts.Add(&r)
	c.pace.Add(&r) // a power beyond V I is taken out of what follows
	c.last = c.screen.Screen(r)
	r = c.last
	c.contact.Add(&r)
	c.signed = c.signed || evidence.AnyNegativeReactive(&r)
	var now [3]evidence.Observation
	for k := range min(len(r.Channels), len(now)) {
		now[k] = c.view.Observe(r.Channels[k])
	}
	c.history.Add(now, after)
	c.history.Note(&r)
}

// Result judges what has been added so far.
func (c *Case) Result() Result {
	if len(c.history.States) == 0 {
		c.history.Add([3]evidence.Observation{}, 1)
	}
	return c.judge().result()
}

func (c *Case) judge() *judgement {
	o, history := c.options, &c.history
	if c.pace.Late() {
		history = history.Last()
	}
	j := &judgement{options: o, tables: o.Tables, contact: &c.contact, screen: &c.screen, anew: c.anew, Judgement: verdict.Judge(verdict.Given{
		Reading: &c.last, Raw: &c.raw, History: history, Signed: c.signed, Faults: c.screen.Faults, Late: c.pace.Late(), Counters: &c.counts,
		Asked: o.Service, MinCurrent: o.minCurrent(), Decide: o.decide(), CTPrimary: o.CTPrimary, VoltageOutputCTs: o.VoltageOutputCTs,
		Loads: kindsOf(o.Load), Generation: o.Generation, Findings: o.Findings}, o.Tables.known)}
	o.Line, o.Findings = nil, nil
	j.hold()
	j.mix(c.mixed, func(part []reading.Reading) Result { return Diagnose(part, o) })
	return j
}

// Learn adds the result of a test to a case that is open, as Options.Findings does
// to one that is opened.
func (c *Case) Learn(f Finding) {
	c.options.Findings = append(c.options.Findings[:len(c.options.Findings):len(c.options.Findings)], f)
}

// Diagnose judges readings of one meter, in order of time.
func Diagnose(readings []reading.Reading, o Options) Result {
	c := New(o)
	for _, r := range readings {
		c.Add(r)
	}
	return c.Result()
}

// ParseFinding reads the result of a test as a person writes it; the error shows
// what can be said.
func ParseFinding(text string) (Finding, error) { return wiring.ParseFinding(text) }

// FindingExamples shows every form that ParseFinding reads.
func FindingExamples() []string { return wiring.FindingExamples() }
