package diagnose

import "legwork/probe/reading"

// Options set how a case is judged. The zero value is useful.
type Options struct {
	// Service is the name of the declared service; empty infers it from the voltages.
	Service string
	// MinCurrent in A: a channel below it says nothing. Zero means DefaultMinCurrent.
	MinCurrent float64
	// Decide is the probability at which a verdict is given. Zero means DefaultDecide.
	Decide float64
}

// Defaults of Options.
const (
	DefaultMinCurrent = 1.0 // A in the primary; common practice, no source
	DefaultDecide     = 0.9
)

// Case gathers the readings of one meter and judges them.
type Case struct {
	options Options
	last    reading.Reading
}

// New opens a case.
func New(o Options) *Case { return &Case{options: o} }

// Add takes one more reading of the same meter, in order of time. It may be
// called any number of times; odd data is reported in the Result, never refused.
func (c *Case) Add(r reading.Reading) { c.last = r.Clone() }

// Result judges what has been added so far.
func (c *Case) Result() Result { return Result{Legwork: ResultVersion, At: c.last.At, Verdict: Undecided} }

// Diagnose judges readings of one meter, in order of time.
func Diagnose(readings []reading.Reading, o Options) Result {
	c := New(o)
	for _, r := range readings {
		c.Add(r)
	}
	return c.Result()
}
