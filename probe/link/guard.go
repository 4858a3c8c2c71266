package link

import (
	"context"
	"errors"
	"runtime"
	"sync/atomic"
	"time"

	"go.bug.st/serial"
)

// guard makes the calls on a serial port, one after the other, in a goroutine
// of its own. The system may never come back from one: that of an adapter which
// was pulled, or whose driver is at fault. Then the caller leaves it, and with it
// the port, which is closed if the call comes back after all.
type guard struct {
	open func() (serial.Port, error)
	left *leftCalls

	turn    chan struct{} // whoever has put a token in may hand on a job; a call that was left keeps it
	jobs    chan job
	results chan result
	timer   *time.Timer // of whoever has the turn
	over    bool        // the goroutine has ended; for whoever has the turn
	closing atomic.Bool
	state   atomic.Int32 // idle, busy or leftAlone
	at      atomic.Int32 // the call that is being made

	// Of the goroutine; bytes may still come after the caller has left.
	port   serial.Port
	buffer [512]byte
}

// The states of a guard.
const (
	idle int32 = iota
	busy
	leftAlone
)

// call is one that a port may never come back from.
type call int32

const (
	opening call = iota
	writing
	reading
	closing
)

// job is what the goroutine is to do: write adu where there is one, then read.
type job struct {
	call call
	adu  []byte
	look bool          // for bytes that had come before adu; then adu isn't sent
	wait time.Duration // for the first byte
	most int           // bytes to read
}

// result is what came of a job; its bytes are valid until the next one.
type result struct {
	bytes []byte
	sent  bool
	over  bool // the goroutine ends
	err   error
}

// A call is left when it takes so much longer than it may, since some drivers
// keep time badly. Once its caller has stopped, half a second is enough. Our
// choice, both.
const (
	overtime   = 2 * time.Second
	lastOrders = 500 * time.Millisecond
)

var errPortClosed = errors.New("the port is closed")

func newGuard(open func() (serial.Port, error), left *leftCalls) *guard {
	g := &guard{open: open, left: left, timer: time.NewTimer(time.Hour),
		turn: make(chan struct{}, 1), jobs: make(chan job), results: make(chan result, 1)}
	go g.work()
	return g
}

// do has a job done, within what it may take. It ends at the latest half a second
// after ctx; the error is StuckPort, that of ctx, or the port's.
func (g *guard) do(ctx context.Context, j job, within time.Duration) (result, error) {
	select {
	case g.turn <- struct{}{}:
	case <-ctx.Done():
		return result{}, ctx.Err()
	case <-time.After(within): // a call is being waited for elsewhere, or was left
		return result{}, StuckPort{call(g.at.Load())}
	}
	if g.over || g.closing.Load() && j.call != closing {
		<-g.turn
		return result{}, errPortClosed
	}
	g.state.Store(busy)
	g.jobs <- j
	r, err := g.await(ctx, within)
	if err != nil {
		return result{}, err // and the turn is kept
	}
	g.over = r.over
	<-g.turn
	return r, r.err
}

// await gives what came of the job that is being done, or leaves it.
func (g *guard) await(ctx context.Context, within time.Duration) (result, error) {
	g.timer.Reset(within)
	var err error
	select {
	case r := <-g.results:
		return r, nil
	case <-g.timer.C:
	case <-ctx.Done():
		err = ctx.Err()
		g.timer.Reset(min(within, lastOrders))
		select {
		case r := <-g.results:
			return r, nil
		case <-g.timer.C:
		}
	}
	stuck := StuckPort{call(g.at.Load())}
	g.left.add(stuck)
	if !g.state.CompareAndSwap(busy, leftAlone) { // it came back this moment
		g.left.remove()
		return <-g.results, nil
	}
	if err == nil {
		err = stuck
	}
	return result{}, err
}

// Close closes the port, once a call that is being made has come back. One that
// doesn't within a second is left.
func (g *guard) Close() error {
	g.closing.Store(true)
	if g.state.Load() == leftAlone {
		return nil // it is closed should the call come back
	}
	_, err := g.do(context.Background(), job{call: closing}, time.Second)
	if err == errPortClosed {
		return nil
	}
	return err
}

// work does jobs until the port is closed or left.
func (g *guard) work() {
	for over := false; !over; {
		j := <-g.jobs
		r := g.perform(j)
		if g.closing.Load() && j.call != closing && g.port != nil {
			_ = g.port.Close()
			r.over = true
		}
		over = r.over
		if !g.state.CompareAndSwap(busy, idle) {
			if !over {
				_ = g.port.Close()
			}
			g.left.remove()
			return
		}
		g.results <- r
	}
}

func (g *guard) perform(j job) (r result) {
	g.at.Store(int32(j.call))
	switch j.call {
	case opening:
		if g.port, r.err = g.open(); r.err != nil {
			g.port, r.over = nil, true
		}
		return r
	case closing:
		return result{over: true, err: g.port.Close()}
	case writing:
		if j.look {
			if r.bytes, r.err = g.waiting(); len(r.bytes) > 0 || r.err != nil {
				return r
			}
		}
		r.sent = true
		if r.err = g.write(j.adu); r.err != nil {
			return r
		}
	}
	g.at.Store(int32(reading))
	r.bytes, r.err = g.read(j.wait, min(j.most, len(g.buffer)))
	return r
}

func (g *guard) write(adu []byte) error {
	for sent := 0; sent < len(adu); {
		n, err := g.port.Write(adu[sent:])
		if err != nil {
			return err
		}
		sent += n
	}
	return nil
}

// waiting gives what has come, without waiting for more.
func (g *guard) waiting() ([]byte, error) {
	if runtime.GOOS == "windows" { // it can't read without waiting there
		return nil, g.port.ResetInputBuffer()
	}
	return g.read(0, len(g.buffer))
}

// read reads once; nothing in time is nothing without an error. The library
// panics on a port whose number among the open files is above 1023, and that
// becomes an error.
func (g *guard) read(wait time.Duration, most int) (bytes []byte, err error) {
	defer func() {
		if recover() != nil {
			bytes, err = nil, errors.New("too many files are open for a serial port to be read")
		}
	}()
	if err := g.port.SetReadTimeout(wait); err != nil {
		return nil, err
	}
	n, err := g.port.Read(g.buffer[:most])
	return g.buffer[:n], err
}
