package seek

import (
	"context"
	"time"

	"legwork/probe/link"
)

// Way is one way to ask: a setting of a serial line, or a network address.
type Way struct {
	Name string // as a person reads it: "9600 baud, even parity"
	Open func(ctx context.Context, timeout time.Duration) (link.Counted, error)

	// Cost is the longest that a question takes to which nothing answers, so much
	// being waited for an answer; nil is that and no more.
	Cost func(timeout time.Duration) Cost

	// Meter is the METER that reads a unit found this way.
	Meter func(unit byte) string
}

// Cost is what an unanswered question takes when it is the last on a connection,
// and when another follows, which must not take a late answer for its own.
type Cost struct{ Alone, Followed time.Duration }

// Options say what is tried. Ways and Units are asked in their order: the first
// unit in every way, then the others.
type Options struct {
	Ways    []Way
	Units   []byte
	Timeout time.Duration // for one answer while seeking; 0 is 200 ms
	All     bool          // go on in the way of the first meter to its other units
	Step    func(Step)    // told before each question; may be nil
}

// Step is how far the search is.
type Step struct {
	Way         string
	Unit        byte
	Done, Total int
	Confirming  int // further questions to a meter that answered; 0 is none yet
	// Left is at most what is left, as far as the line kept to what was reckoned
	// so far: where it is slower, so is the rest. To a meter that answered it is
	// what the further questions take, and that for who it is.
	Left time.Duration
}

// Found is a meter that answered.
type Found struct {
	Way      Way
	Unit     byte
	Good, Of int // answers of so many more questions
	Refuses  bool
	Slowest  time.Duration
	Identity link.Identity
	Known    bool // Identity was told
}

// Heard is what came in one way that was no answer.
type Heard struct {
	Way    string
	Counts link.Counts
	Err    error // the last one
}

// Result is what the search brought.
type Result struct {
	Found []Found
	Heard []Heard // ways in which something came, but no answer
	Asked int
	Error error // of a way that could not be opened; the search ends there
}

const (
	defaultTimeout = 200 * time.Millisecond
	confirmations  = 5

	// Where nothing answered, the first unit is asked once more in the likeliest
	// ways with more patience: some meters take half a second.
	secondChances = 4
	morePatience  = 4
)

// opening is what it takes to open a port or to connect on a site's network. Our
// choice, ample.
const opening = 50 * time.Millisecond

// cost is that of asking so many units in a way.
func (w Way) cost(units int, timeout time.Duration) time.Duration {
	if units == 0 {
		return 0
	}
	c := Cost{timeout, timeout}
	if w.Cost != nil {
		c = w.Cost(timeout)
	}
	return opening + time.Duration(units-1)*c.Followed + c.Alone
}

// Longest is how long the whole search takes when nothing answers.
func (o Options) Longest() time.Duration {
	var all time.Duration
	first := min(1, len(o.Units))
	for i, w := range o.Ways {
		all += w.cost(first, o.patience()) + w.cost(len(o.Units)-first, o.patience())
		if i < o.chances() {
			all += w.cost(first, morePatience*o.patience())
		}
	}
	return all
}

// Questions is how many the whole search puts when nothing answers.
func (o Options) Questions() int { return len(o.Ways)*len(o.Units) + o.chances() }

func (o Options) chances() int {
	if len(o.Units) == 0 {
		return 0
	}
	return min(secondChances, len(o.Ways))
}

func (o Options) patience() time.Duration {
	if o.Timeout > 0 {
		return o.Timeout
	}
	return defaultTimeout
}
