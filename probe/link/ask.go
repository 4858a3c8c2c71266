package link

import (
	"context"
	"errors"

	"github.com/goburrow/modbus"
)

// asker puts questions over any framing: turns, tries, counts and errors.
type asker struct {
	place    string // "tcp 10.0.0.7:502"
	over     medium
	options  Options
	line     keeper
	turn     chan struct{} // whoever has put a token in may use line
	tally    tally
	lasting  bool // a bad answer or silence says nothing against the connection
	exchange func(ctx context.Context, unit byte, request *modbus.ProtocolDataUnit) (*modbus.ProtocolDataUnit, error)
}

// Registers reads r.Count registers in one transaction. The error is an *Error.
func (a *asker) Registers(ctx context.Context, r Read) ([]uint16, error) {
	request, err := r.pdu()
	if err != nil {
		return nil, a.fail(r, 0, err)
	}
	if err := a.take(ctx); err != nil {
		return nil, a.fail(r, 0, err)
	}
	defer a.leave()
	for try := 1; ; try++ {
		answer, err := a.try(ctx, r.Unit, request)
		if err == nil {
			return registers(answer), nil
		}
		if try > a.options.Retries || !a.again(ctx, err) {
			a.giveUp(err)
			return nil, a.fail(r, try, err)
		}
		a.tally.update(func(c *Counts) { c.Retries++ })
	}
}

// askOnce asks without retries and keeps the connection when there is silence.
func (a *asker) askOnce(ctx context.Context, unit byte, request *modbus.ProtocolDataUnit) (*modbus.ProtocolDataUnit, error) {
	if err := a.take(ctx); err != nil {
		return nil, err
	}
	defer a.leave()
	answer, err := a.try(ctx, unit, request)
	if err != nil {
		return nil, err
	}
	// The answer stands in the buffer that the next turn overwrites.
	return &modbus.ProtocolDataUnit{FunctionCode: answer.FunctionCode, Data: append([]byte(nil), answer.Data...)}, nil
}

func (a *asker) redialled() { a.tally.update(func(c *Counts) { c.Redials++ }) }

// Counts tells how well the link did so far.
func (a *asker) Counts() Counts { return a.tally.snapshot() }

// Close ends the connection and every request in flight. It gives no error.
func (a *asker) Close() error {
	a.line.shut()
	return nil
}

func (a *asker) take(ctx context.Context) error {
	select { // the way without waiting is the quicker one
	case a.turn <- struct{}{}:
		return nil
	default:
	}
	select {
	case a.turn <- struct{}{}:
		return nil
	case <-ctx.Done():
		return stopped{ctx.Err()}
	}
}

func (a *asker) leave() { <-a.turn }

// try asks once. A connection that served before and turns out closed was most
// likely closed while idle, as servers do: that is no failure, and as nothing
// here ever changes a meter the question is put again on a new one.
func (a *asker) try(ctx context.Context, unit byte, request *modbus.ProtocolDataUnit) (*modbus.ProtocolDataUnit, error) {
	if ctx.Err() != nil {
		return nil, stopped{ctx.Err()}
	}
	served := a.line.served()
	answer, err := a.exchange(ctx, unit, request)
	if served && isLost(err) {
		a.tally.update(func(c *Counts) { c.Broken++ })
		a.line.drop()
		answer, err = a.exchange(ctx, unit, request)
	}
	if err != nil {
		a.note(err)
		return nil, err
	}
	a.line.good()
	a.tally.update(func(c *Counts) { c.Answers++ })
	return answer, nil
}

// isAnswer reports an error of what was answered, not of the way there.
func isAnswer(err error) bool {
	return errors.As(err, new(BadAnswer)) || errors.As(err, new(OtherUnit))
}

func isLost(err error) bool { return err != nil && errors.As(err, new(lostError)) }

// Broken reports that a connection couldn't be made or kept, as against silence
// on one, or an answer that is no use.
func Broken(err error) bool { return isLost(err) || err != nil && errors.As(err, new(dialError)) }

// note counts a failure and drops a connection that can't be relied on. One
// that is only silent is kept for the next try.
func (a *asker) note(err error) {
	var (
		exception Exception
		silent    NoAnswer
	)
	refused, timeout := errors.As(err, &exception), errors.As(err, &silent)
	switch {
	case refused:
		a.line.good()
	case a.lasting && (timeout || isAnswer(err)):
	case (!timeout || silent.Partial > 0) && a.line.drop(): // a dial counts its own failure
		a.line.failed()
	}
	a.tally.update(func(c *Counts) {
		switch {
		case refused:
			c.Exceptions++
			if exception <= lastCode {
				c.Refused[exception]++
			}
		case timeout:
			c.Timeouts++
			if silent.Partial > 0 || silent.Misnumbered > 0 && silent.Stray == 0 {
				c.Unusable++
			}
		case isAnswer(err):
			c.BadAnswers++
		case Broken(err):
			c.Broken++
		}
	})
}

// again tells whether another try may help, after the pause that it needs.
func (a *asker) again(ctx context.Context, err error) bool {
	var exception Exception
	if ctx.Err() != nil || errors.Is(err, ErrClosed) || errors.As(err, new(StuckPort)) {
		return false
	}
	if errors.As(err, &exception) {
		return exception.passing() && a.line.wait(ctx, firstPause) == nil
	}
	return true
}

// giveUp ends the connection that stayed silent through all tries: it may be
// half dead, and only a new one tells. One that is shared is for whoever shares
// it to judge.
func (a *asker) giveUp(err error) {
	if !a.lasting && !a.options.Shared && errors.As(err, new(NoAnswer)) {
		a.line.drop() // without a pause: the time-out was one
	}
}

func (a *asker) fail(r Read, tries int, err error) error {
	e := &Error{Op: "read", Place: a.place, over: a.over, Unit: r.Unit, Function: r.Function, Address: r.Address, Count: r.Count, Tries: tries, Err: err}
	if errors.As(err, new(dialError)) {
		e.Op = "connect"
	}
	return e
}
