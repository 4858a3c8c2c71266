package link

import (
	"context"
	"errors"
	"fmt"
	"os"
	"time"

	"go.bug.st/serial"
)

// port is a wire over a serial port: a guard, and what its calls are put
// together to.
type port struct{ *guard }

// ports opens one serial port, again and again, and knows of the calls on it
// that never came back.
type ports struct {
	Serial
	open func() (serial.Port, error)
	left leftCalls
}

func newPorts(s Serial) *ports {
	mode := &serial.Mode{BaudRate: s.Baud, DataBits: 8,
		Parity:   [...]serial.Parity{serial.EvenParity, serial.NoParity, serial.EvenParity, serial.OddParity}[s.Parity],
		StopBits: [...]serial.StopBits{serial.OneStopBit, serial.OneStopBit, serial.TwoStopBits}[s.StopBits]}
	return &ports{Serial: s, open: func() (serial.Port, error) { return serial.Open(s.Port, mode) }}
}

// dial opens the port, unless ctx ends first: opening may never come back.
func (p *ports) dial(ctx context.Context) (wire, error) {
	if err := p.left.full(); err != nil {
		return nil, err
	}
	g := newGuard(p.open, &p.left)
	_, err := g.do(ctx, job{call: opening}, overtime)
	switch {
	case err == nil:
		return port{g}, nil
	case errors.Is(err, context.DeadlineExceeded):
		return nil, StuckPort{opening}
	case p.left.explains(err):
		return nil, p.left.last
	case errors.As(err, new(StuckPort)), ctx.Err() != nil:
		return nil, err
	}
	return nil, portError(p.Serial, err)
}

// slice bounds one wait in the port, after which the context is looked at.
const slice = 50 * time.Millisecond

func (p port) ask(ctx context.Context, q question) (n int, sent bool, err error) {
	j := job{call: writing, adu: q.adu, look: q.how == looking, wait: wait(q.deadline), most: len(q.into)}
	r, err := p.do(ctx, j, time.Until(q.deadline)+overtime)
	n = copy(q.into, r.bytes)
	if n == 0 && err == nil {
		n, err = p.receive(ctx, q.into, q.deadline)
	}
	return n, r.sent, err
}

func (p port) receive(ctx context.Context, into []byte, deadline time.Time) (int, error) {
	for {
		if ctx.Err() != nil {
			return 0, ctx.Err()
		}
		if !time.Now().Before(deadline) {
			return 0, os.ErrDeadlineExceeded
		}
		r, err := p.do(ctx, job{call: reading, most: len(into), wait: wait(deadline)}, slice+overtime)
		if n := copy(into, r.bytes); n > 0 || err != nil {
			return n, err
		}
	}
}

// wait is how long one read may take.
func wait(deadline time.Time) time.Duration {
	return min(max(time.Until(deadline), leastWait), slice)
}

// portError says what keeps a port from being opened, and what to do.
func portError(s Serial, err error) error {
	if p, ok := errors.AsType[*serial.PortError](err); ok {
		return s.trouble(p.Code(), err)
	}
	return s.trouble(-1, err)
}

// trouble is that of a code of the library, or of the system where it has none.
func (s Serial) trouble(code serial.PortErrorCode, err error) error {
	switch {
	case errors.Is(err, os.ErrNotExist), code == serial.PortNotFound:
		return errors.New("there is no such port; is the adapter plugged in? `legwork ports` lists them")
	case code == serial.PortBusy:
		return errors.New("another program has this port; close it")
	case errors.Is(err, os.ErrPermission), code == serial.PermissionDenied:
		return errors.New("this user may not use it; " + rights(s.Port))
	case code == serial.InvalidSpeed:
		return fmt.Errorf("this port can't do %d baud", s.Baud)
	case code == serial.InvalidSerialPort:
		return errors.New("this is no serial port")
	}
	return err
}
