package blocks

import (
	"context"
	"fmt"
	"time"

	"legwork/probe/learn/image"
	"legwork/probe/link"
	"legwork/probe/regmap"
)

// Source is what is asked: a link, or what stands for one. Its errors are those
// of link.Conn.
type Source interface {
	Registers(ctx context.Context, r link.Read) ([]uint16, error)
}

// Options say where is looked and how patiently. The zero value is useful.
type Options struct {
	Unit     byte           // 0 is 1
	Tables   []regmap.Table // nil is both
	From, To int            // addresses; To is the last one, 0 is 65535

	Requests int           // at most; 0 is 6,000
	Longest  time.Duration // how long is looked; 0 is five minutes
	Rounds   int           // how often the blocks are read; 0 is 5
	Over     time.Duration // from the first round to the last; 0 is 4 s

	// Enough says whether an image explains itself, so that nothing more need be
	// looked for; nil is where something in it moves.
	Enough func(*image.Image) bool

	Step func(Step)                                       // told before each request; may be nil
	Now  func() time.Time                                 // nil is time.Now
	Wait func(ctx context.Context, d time.Duration) error // nil waits on a timer
}

// Stage is what the search does.
type Stage uint8

// The stages, in their order.
const (
	Usual   Stage = iota // usual places
	Near                 // a fine grid near what was found
	Grid                 // a grid over all the rest, from coarse to fine
	Growing              // a block is grown to its edges
	Reading              // blocks are read over and over
)

// Step is how far the search is.
type Step struct {
	Stage      Stage
	Table      regmap.Table
	Address    int
	Asked      int           // requests so far
	Done, Most int           // places of this stage
	Registers  int           // that were found
	Left       time.Duration // about; if the registers are where this stage looks

	Failed   int            // requests that the meter was too busy for, or failed at
	FailedBy link.Exception // what it said of most of them
}

// Nothing says that a meter answers and gives no register where it was asked.
type Nothing struct {
	Asked    int
	Whole    bool // everywhere that it was to be asked
	Coarsest int  // the grid that was asked everywhere; 0 is none

	Failed   int // as in Step
	FailedBy link.Exception
}

func (n Nothing) Error() string {
	text := fmt.Sprintf("the meter answered %d questions and gave no register", n.Asked)
	if !n.Whole {
		text += " so far"
	}
	if n.Failed > 0 {
		text += fmt.Sprintf(", and refused %d of them with %v", n.Failed, n.FailedBy)
	}
	return text
}

// Gone says that a meter doesn't answer any more, or never did.
type Gone struct {
	Asked int  // requests until then
	Never bool // there was no answer at all
	Err   error
}

func (g Gone) Error() string {
	if g.Never {
		return fmt.Sprintf("nothing answered %d questions: %v", g.Asked, g.Err)
	}
	return fmt.Sprintf("the meter answered, and then no more, after %d questions: %v", g.Asked, g.Err)
}

// Unwrap gives the last error.
func (g Gone) Unwrap() error { return g.Err }

const (
	mostRequests = 6000
	longest      = 5 * time.Minute
	rounds       = 5
	over         = 4 * time.Second
	lastAddress  = 1<<16 - 1
)

func (o Options) withDefaults() Options {
	if o.Unit == 0 {
		o.Unit = 1
	}
	if o.Tables == nil {
		o.Tables = []regmap.Table{regmap.Holding, regmap.Input}
	}
	if o.To <= 0 || o.To > lastAddress {
		o.To = lastAddress
	}
	if o.Requests <= 0 {
		o.Requests = mostRequests
	}
	if o.Longest <= 0 {
		o.Longest = longest
	}
	if o.Rounds <= 0 {
		o.Rounds = rounds
	}
	if o.Over <= 0 {
		o.Over = over
	}
	if o.Step == nil {
		o.Step = func(Step) {}
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Wait == nil {
		o.Wait = wait
	}
	if o.Enough == nil {
		o.Enough = moves
	}
	return o
}

func wait(ctx context.Context, d time.Duration) error {
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-t.C:
		return nil
	}
}

// moves reports an image in which some register changes.
func moves(im *image.Image) bool {
	for _, b := range im.Blocks {
		for _, round := range b.Rounds[1:] {
			for i, w := range round {
				if w != b.Rounds[0][i] {
					return true
				}
			}
		}
	}
	return false
}
