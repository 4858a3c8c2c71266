package diagnose

import (
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

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
	// Generation says that power may flow from the panel to the supply.
	Generation bool
	// Seen are the results of tests that a person made.
	Seen []Seen
	// MostStates bounds how many states of the load are kept, and with them the
	// memory of a case; zero means 200, beyond which nothing more is learnt.
	MostStates int
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

func (o Options) mostStates() int {
	if o.MostStates > 1 {
		return o.MostStates
	}
	return mostStates
}

// Case gathers the readings of one meter and judges them. It keeps states of
// the load, not readings, so that a day of them takes little memory.
type Case struct {
	options Options
	last    reading.Reading
	history history
	view    view
	signed  bool // a reactive register was below zero once: it has a sign
	screen  screener
}

// New opens a case.
func New(o Options) *Case {
	return &Case{options: o, view: view{minCurrent: o.minCurrent()}, history: history{most: o.mostStates()}}
}

// Add takes one more reading of the same meter, in order of time. It may be
// called any number of times; odd data is reported in the Result, never refused.
func (c *Case) Add(r reading.Reading) {
	after := secondsBetween(&c.last, &r)
	c.last = c.screen.screen(r)
	r = c.last
	c.signed = c.signed || anyNegativeReactive(&r)
	var now [3]sight
	for k := range min(len(r.Channels), len(now)) {
		now[k] = c.view.see(r.Channels[k])
	}
	c.history.add(now, after)
}

// secondsBetween is the time from one reading to the next; a second where they
// don't tell.
func secondsBetween(from, to *reading.Reading) float64 {
	if from.At.IsZero() || !to.At.After(from.At) {
		return 1
	}
	return to.At.Sub(from.At).Seconds()
}

// Result judges what has been added so far.
func (c *Case) Result() Result {
	if len(c.history.states) == 0 {
		c.history.add([3]sight{}, 1)
	}
	j := c.judge()
	return j.result()
}

func (c *Case) judge() *judgement {
	r := &c.last
	j := &judgement{options: c.options, reading: r, channels: r.Channels, faults: c.screen.faults}
	j.services, j.inferred = servicesOf(r, c.options.Service)
	var frames []frame
	for _, s := range j.services {
		frames = append(frames, framesOf(r, s)...)
	}
	evenShares(frames)
	j.posterior, j.steps = c.weigh(frames)
	j.posterior.weighSeen(c.options.Seen)
	j.groups = j.posterior.groups()
	j.service = j.services[0]
	if g := j.top(); g != nil {
		j.service = g.service
	}
	if !j.inferred {
		j.fitting = misdeclared(r, j.service)
	}
	j.neutral = j.neutralLost(&c.history)
	j.decide()
	j.faults = append(j.faults, j.currentFaults()...)
	return j
}

// anyNegativeReactive reports that a reactive register carries a sign.
func anyNegativeReactive(r *reading.Reading) bool {
	for _, c := range r.Channels {
		if q, ok := c.Reactive.Get(); ok && q < 0 {
			return true
		}
	}
	return false
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
			return []wiring.Service{placeHighLeg(r, s)}, false
		}
	}
	return inferServices(r), true
}
