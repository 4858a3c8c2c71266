package link

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"
)

// Error is what a link answers with when it can't give registers: where, what
// was asked, and why. Unwrap gives the cause.
type Error struct {
	Op       string // "connect", "read" or "identify"
	Place    string // "tcp 10.0.0.7:502"
	Unit     byte
	Function Function // 0 unless Op is "read"
	Address  uint16
	Count    uint16
	Tries    int // how often it was tried; 0 when nothing was sent
	Err      error

	over medium // what the frames go through
}

// medium is what frames go through; sockets of Modbus TCP are the zero value.
type medium uint8

const (
	socketed medium = iota
	serialPort
	converter // a serial line behind a socket
)

// Error is one line: place, what was asked, cause, next step.
func (e *Error) Error() string {
	var b strings.Builder
	b.WriteString(e.Place)
	if e.Op == "read" {
		fmt.Fprintf(&b, ": %s", Read{e.Unit, e.Function, e.Address, e.Count})
	} else if e.Op == "identify" {
		fmt.Fprintf(&b, ": unit %d, identification", e.Unit)
	}
	fmt.Fprintf(&b, ": %v", e.Err)
	if e.Tries > 1 {
		fmt.Fprintf(&b, " (%d tries)", e.Tries)
	}
	if next := e.advice(); next != "" {
		b.WriteString("; " + next)
	}
	return b.String()
}

// Unwrap gives the cause.
func (e *Error) Unwrap() error { return e.Err }

// Timeout reports whether time ran out before there was an answer.
func (e *Error) Timeout() bool {
	var t interface{ Timeout() bool }
	return errors.As(e.Err, &t) && t.Timeout()
}

// What a caller may want to tell apart, beside Exception and the types below.
var (
	// ErrClosed says that Close was called.
	ErrClosed = errors.New("the link is closed")
	// ErrNoIdentity says that the meter doesn't support function 43/14, which
	// some show by an exception and some by silence.
	ErrNoIdentity = errors.New("the meter does not tell what it is")
)

// InvalidRead says that a Read can't be sent; nothing was.
type InvalidRead struct{ Why string }

func (e InvalidRead) Error() string { return e.Why }

// NoAnswer says that no answer came in time.
type NoAnswer struct {
	After       time.Duration // how long was waited
	Stray       int           // answers to earlier requests that came meanwhile
	Misnumbered int           // answers with a transaction number that was never waited for
	Partial     int           // bytes of an answer that stopped short
	Echo        bool          // the request itself came back, and nothing else
	Late        time.Duration // how long an earlier answer took that came too late; 0 is none
}

func (e NoAnswer) Error() string {
	switch {
	case e.Partial > 0:
		return fmt.Sprintf("no whole answer within %v, only %d bytes of one", e.After, e.Partial)
	case e.Echo:
		return fmt.Sprintf("no answer within %v, only the echo of the request", e.After)
	case e.Late > 0:
		return fmt.Sprintf("no answer within %v: the meter answers after %v", e.After, e.Late.Round(time.Millisecond))
	case e.Stray > 0:
		return fmt.Sprintf("no answer within %v, only %d to other requests", e.After, e.Stray)
	case e.Misnumbered > 0:
		return fmt.Sprintf("no answer within %v, only %d with a wrong transaction number", e.After, e.Misnumbered)
	}
	return fmt.Sprintf("no answer within %v", e.After)
}

// Timeout is true.
func (e NoAnswer) Timeout() bool { return true }

// OtherUnit says that the answer came from another unit than was asked.
type OtherUnit struct{ Asked, Got byte }

func (e OtherUnit) Error() string {
	return fmt.Sprintf("unit %d answered instead of unit %d", e.Got, e.Asked)
}

// BadAnswer says that what came can't be the answer.
type BadAnswer struct {
	Why string
	Raw []byte // what came, from its first byte; a copy
}

func (e BadAnswer) Error() string { return e.Why }

func badAnswer(raw []byte, format string, args ...any) error {
	return BadAnswer{Why: fmt.Sprintf(format, args...), Raw: append([]byte(nil), raw...)}
}

// dialError says that there is no connection.
type dialError struct{ err error }

func (e dialError) Error() string {
	if hands, ok := errors.AsType[handshakeError](e.err); ok {
		return hands.Error()
	}
	if ranOut(e.err) {
		return "no connection in time"
	}
	return plain(e.err)
}

func (e dialError) Unwrap() error { return e.err }

// lostError says that a connection broke.
type lostError struct{ err error }

func (e lostError) Error() string {
	if errors.Is(e.err, io.EOF) {
		return "the other side closed the connection"
	}
	return "the connection broke: " + plain(e.err)
}

func (e lostError) Unwrap() error { return e.err }

// stopped says that the context ended first.
type stopped struct{ err error }

func (e stopped) Error() string {
	if errors.Is(e.err, context.DeadlineExceeded) {
		return "the time allowed was over before the meter answered"
	}
	return "stopped before the meter answered"
}

func (e stopped) Unwrap() error { return e.err }
