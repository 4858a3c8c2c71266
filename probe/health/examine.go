package health

import (
	"context"
	"errors"
	"time"

	"legwork/probe/link"
)

// Options say what is asked of which meter.
type Options struct {
	Conn    link.Counted
	Blocks  []link.Read // blocks that the meter has; the first register of the first is the short question
	Timeout time.Duration
	Network bool // as in Evidence
	Timer   int  // as in Evidence
	// Wire is what an answer of so many registers takes on the wire; nil where
	// that isn't known.
	Wire func(registers int) time.Duration
	// Again makes a second connection; nil where there can't be one.
	Again func(ctx context.Context) (link.Conn, error)
	Wait  func(ctx context.Context, d time.Duration) error
	Step  func(Step) // told before each question; may be nil
}

// Step is what is being tried.
type Step struct {
	Phase     Phase
	Registers int // of the question
	Asked     int // questions before this one
	Answered  int // of them those that were answered
}

// Phase is a part of an examination.
type Phase string

// The phases, in their order.
const (
	CloseTogether Phase = "questions close together"
	WithPause     Phase = "questions with a pause between"
	Lengths       Phase = "longer blocks"
	Times         Phase = "how long an answer takes"
	SecondClient  Phase = "a second connection"
)

// Short questions are put at least rounds times, and more often while that takes
// no longer than enough: the more there are, the rarer a fault that shows.
const (
	rounds     = 20
	mostRounds = 60
	enough     = 2 * time.Second
	pause      = 200 * time.Millisecond
)

// exam is an examination that is going on.
type exam struct {
	Options
	Evidence
	step  Step
	stuck error // the port is of no use any more
}

// Examine asks, and gives the evidence, also that until ctx ended. Its error is
// that of ctx, or a link.StuckPort; a meter that doesn't answer is evidence.
func Examine(ctx context.Context, o Options) (Evidence, error) {
	x := exam{Options: o, Evidence: Evidence{Timeout: o.Timeout, Timer: o.Timer, Network: o.Network}}
	short := o.Blocks[0]
	short.Count = 1
	x.Close = x.ask(ctx, short, CloseTogether)
	if x.Close.Good < x.Close.Of {
		x.Apart = x.ask(ctx, short, WithPause)
	}
	x.Short = o.Conn.Counts()
	if x.Short.Answers > 0 { // registers, and not refusals alone
		x.lengths(ctx)
		x.floors(ctx)
	}
	if x.Close.Good+x.Apart.Good > 0 {
		x.second(ctx, short)
	}
	x.Counts = o.Conn.Counts()
	if ctx.Err() != nil {
		return x.Evidence, ctx.Err()
	}
	return x.Evidence, x.stuck
}

func (x *exam) over(ctx context.Context) bool { return ctx.Err() != nil || x.stuck != nil }

// registers puts one question, and says so before.
func (x *exam) registers(ctx context.Context, q link.Read, p Phase) error {
	if x.Step != nil {
		x.step.Phase, x.step.Registers = p, int(q.Count)
		x.Step(x.step)
	}
	_, err := x.Conn.Registers(ctx, q)
	x.step.Asked++
	switch {
	case err == nil:
		x.step.Answered++
	case errors.As(err, new(link.StuckPort)):
		x.stuck = err
	}
	return err
}

// ask puts the same question many times, and stops early where nothing comes.
func (x *exam) ask(ctx context.Context, q link.Read, p Phase) Tries {
	var t Tries
	most, begun := rounds/2, time.Now()
	if p == CloseTogether {
		most = mostRounds
	}
	for t.Of < most && !(t.Of >= 4 && t.Good == 0) && !(t.Of >= rounds && time.Since(begun) > enough) {
		if x.over(ctx) || p == WithPause && x.Wait(ctx, pause) != nil {
			break
		}
		t.Of++
		if isAnswer(x.registers(ctx, q, p)) {
			t.Good++
		}
	}
	return t
}

// isAnswer reports registers, or the refusal of registers that aren't there.
func isAnswer(err error) bool {
	var refused link.Exception
	return err == nil || errors.As(err, &refused) && refused <= link.IllegalDataAddress
}

// lengths finds the longest part of the longest block that is answered.
func (x *exam) lengths(ctx context.Context) {
	q := x.Blocks[0]
	for _, b := range x.Blocks {
		if b.Count > q.Count {
			q = b
		}
	}
	good, bad := 1, int(q.Count)
	if x.takes(ctx, q, bad) {
		x.Longest = bad
		return
	}
	for bad-good > 1 && !x.over(ctx) {
		if n := (good + bad) / 2; x.takes(ctx, q, n) {
			good = n
		} else {
			bad = n
		}
	}
	x.Longest, x.Refused = good, bad
}

// takes reports whether so many registers are answered, in a few tries: one that
// is lost is no length that is refused.
func (x *exam) takes(ctx context.Context, q link.Read, n int) bool {
	q.Count = uint16(n)
	tries := 2
	if x.Short.Answers < x.Short.Requests {
		tries = 4
	}
	for range tries {
		if x.registers(ctx, q, Lengths) == nil {
			return true
		}
		if x.over(ctx) || x.Wait(ctx, pause) != nil {
			return false
		}
	}
	return false
}

// floors measures what an answer takes beyond the wire, at three lengths.
func (x *exam) floors(ctx context.Context) {
	if x.Wire == nil {
		return
	}
	q := x.Blocks[0]
	for _, n := range []int{1, 8, 24} {
		if n > x.Longest || n > int(x.Blocks[0].Count) || x.over(ctx) {
			return
		}
		q.Count = uint16(n)
		least := time.Duration(0)
		for range rounds / 2 {
			begun := time.Now()
			if x.over(ctx) || x.registers(ctx, q, Times) != nil {
				continue
			}
			if took := time.Since(begun) - x.Wire(n); least == 0 || took < least {
				least = took
			}
		}
		x.Floors = append(x.Floors, max(least, 0))
	}
}

// second asks through a second connection while the first is open.
func (x *exam) second(ctx context.Context, q link.Read) {
	if x.Again == nil || x.over(ctx) {
		return
	}
	if x.Step != nil {
		x.step.Phase, x.step.Registers = SecondClient, int(q.Count)
		x.Step(x.step)
	}
	c, err := x.Again(ctx)
	if err == nil {
		defer c.Close()
		_, err = c.Registers(ctx, q)
	}
	if err != nil && !errors.As(err, new(link.Exception)) && ctx.Err() == nil {
		x.Second = errors.Unwrap(err)
	}
}
