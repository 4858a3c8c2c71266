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
	Timer   int // as in Evidence
	// Wire is what an answer of so many registers takes on the wire; nil where
	// that isn't known.
	Wire func(registers int) time.Duration
	// Again makes a second connection; nil where there can't be one.
	Again func(ctx context.Context) (link.Conn, error)
	Wait  func(ctx context.Context, d time.Duration) error
}

const (
	rounds = 20
	pause  = 200 * time.Millisecond
)

// Examine asks, and gives the evidence. Its error is that of ctx; a meter that
// doesn't answer is evidence.
func Examine(ctx context.Context, o Options) (Evidence, error) {
	e := Evidence{Timeout: o.Timeout, Timer: o.Timer}
	short := o.Blocks[0]
	short.Count = 1
	e.Close = o.ask(ctx, short, rounds, 0)
	if e.Close.Good < e.Close.Of {
		e.Apart = o.ask(ctx, short, rounds/2, pause)
	}
	if e.Close.Good+e.Apart.Good > 0 {
		e.lengths(ctx, o)
		e.floors(ctx, o)
		e.second(ctx, o, short)
	}
	e.Counts = o.Conn.Counts()
	return e, ctx.Err()
}

// ask puts the same question n times, and stops early where nothing comes.
func (o Options) ask(ctx context.Context, q link.Read, n int, apart time.Duration) Tries {
	var t Tries
	for range n {
		if ctx.Err() != nil || t.Of >= 4 && t.Good == 0 {
			break
		}
		if apart > 0 && o.Wait(ctx, apart) != nil {
			break
		}
		t.Of++
		if o.answers(ctx, q) {
			t.Good++
		}
	}
	return t
}

func (o Options) answers(ctx context.Context, q link.Read) bool {
	_, err := o.Conn.Registers(ctx, q)
	var refused link.Exception
	return err == nil || errors.As(err, &refused) && refused <= link.IllegalDataAddress
}

// lengths finds the longest part of the longest block that is answered.
func (e *Evidence) lengths(ctx context.Context, o Options) {
	q := o.Blocks[0]
	for _, b := range o.Blocks {
		if b.Count > q.Count {
			q = b
		}
	}
	good, bad := 1, int(q.Count)
	if o.takes(ctx, q, bad) {
		e.Longest = bad
		return
	}
	for bad-good > 1 && ctx.Err() == nil {
		if n := (good + bad) / 2; o.takes(ctx, q, n) {
			good = n
		} else {
			bad = n
		}
	}
	e.Longest, e.Refused = good, bad
}

// takes reports whether so many registers are answered, in two tries.
func (o Options) takes(ctx context.Context, q link.Read, n int) bool {
	q.Count = uint16(n)
	for range 2 {
		if _, err := o.Conn.Registers(ctx, q); err == nil {
			return true
		}
		if o.Wait(ctx, pause) != nil {
			return false
		}
	}
	return false
}

// floors measures what an answer takes beyond the wire, at three lengths.
func (e *Evidence) floors(ctx context.Context, o Options) {
	if o.Wire == nil {
		return
	}
	q := o.Blocks[0]
	for _, n := range []int{1, 8, 24} {
		if n > e.Longest || n > int(o.Blocks[0].Count) {
			return
		}
		q.Count = uint16(n)
		least := time.Duration(0)
		for range rounds / 2 {
			begun := time.Now()
			if _, err := o.Conn.Registers(ctx, q); err != nil {
				continue
			}
			if took := time.Since(begun) - o.Wire(n); least == 0 || took < least {
				least = took
			}
		}
		e.Floors = append(e.Floors, max(least, 0))
	}
}

// second asks through a second connection while the first is open.
func (e *Evidence) second(ctx context.Context, o Options, q link.Read) {
	if o.Again == nil {
		return
	}
	c, err := o.Again(ctx)
	if err == nil {
		defer c.Close()
		_, err = c.Registers(ctx, q)
	}
	var refused link.Exception
	if err != nil && !errors.As(err, &refused) {
		e.Second = errors.Unwrap(err)
	}
}
