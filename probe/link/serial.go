package link

import (
	"context"
	"errors"
	"fmt"
	"os"
	"runtime"
	"sync"
	"time"

	"go.bug.st/serial"
)

// Parity of a serial line.
type Parity uint8

// The parities. The zero value is the standard's default, even.
const (
	NoParity Parity = iota + 1
	EvenParity
	OddParity
)

// Serial is a port and how it speaks. The zero values of all but Port are what
// MODBUS over Serial Line V1.02, 2.5.1 wants a device to be set to: 19200 baud (from
// memory), even parity, and two stop bits where there is no parity.
type Serial struct {
	Port     string // "/dev/ttyUSB0", "COM5"
	Baud     int
	Parity   Parity
	StopBits int // 1 or 2
}

const defaultBaud = 19200

// String is as errors show it: "rtu /dev/ttyUSB0 9600 8E1".
func (s Serial) String() string {
	return fmt.Sprintf("%s %d 8%c%d", s.Port, s.Baud, "?NEO"[s.Parity], s.StopBits)
}

func (s Serial) withDefaults() Serial {
	if s.Baud == 0 {
		s.Baud = defaultBaud
	}
	if s.Parity == 0 {
		s.Parity = EvenParity
	}
	if s.StopBits == 0 {
		s.StopBits = 1
		if s.Parity == NoParity {
			s.StopBits = 2
		}
	}
	return s
}

func (s Serial) check() error {
	switch {
	case s.Baud < 75 || s.Baud > 4_000_000:
		return fmt.Errorf("%d baud: a serial line has 75 to 4000000, and most meters 9600 or 19200", s.Baud)
	case s.StopBits < 1 || s.StopBits > 2:
		return fmt.Errorf("%d stop bits: there are 1 or 2", s.StopBits)
	case s.Parity > OddParity:
		return fmt.Errorf("parity is none, even or odd")
	}
	return nil
}

// pace is what time takes on a line. Its zero value is a line of which that
// isn't known.
type pace struct{ char time.Duration }

// pace counts start, eight data bits, parity and stop bits.
func (s Serial) pace() pace {
	bits := 1 + 8 + s.StopBits
	if s.Parity != NoParity {
		bits++
	}
	return pace{time.Duration(bits) * time.Second / time.Duration(s.Baud)}
}

// RoundTrip is what one more request costs on the line, in registers of two
// characters: 13 characters round the data, two silences, and a turnaround of
// 20 ms (common practice, no source).
func (s Serial) RoundTrip() int {
	p := s.withDefaults().pace()
	const turnaround = 20 * time.Millisecond
	return int((p.time(13)+2*p.gap()+turnaround)/p.time(2)) + 1
}

// WireTime is what a question and its answer of so many registers take on the
// line, with the silence before.
func (s Serial) WireTime(registers int) time.Duration {
	p := s.withDefaults().pace()
	return p.time(8+rtuOverhead+2+2*registers) + p.gap()
}

func (p pace) time(characters int) time.Duration { return time.Duration(characters) * p.char }

// gap is the silence before a frame: 3.5 characters, and 1.75 ms above 19200
// baud (MODBUS over Serial Line V1.02, 2.5.1.1).
func (p pace) gap() time.Duration {
	const fixed = 1750 * time.Microsecond
	return max(p.char*7/2, fixed)
}

// port is a wire over a serial port. Reads go straight to the port: a reader
// beside it costs wake-ups that a fast line has no time for.
type port struct {
	serial.Port
	mu     sync.Mutex // a write and the closing never meet
	closed bool
}

func openPort(s Serial) (wire, error) {
	mode := &serial.Mode{BaudRate: s.Baud, DataBits: 8,
		Parity:   [...]serial.Parity{serial.EvenParity, serial.NoParity, serial.EvenParity, serial.OddParity}[s.Parity],
		StopBits: [...]serial.StopBits{serial.OneStopBit, serial.OneStopBit, serial.TwoStopBits}[s.StopBits]}
	p, err := serial.Open(s.Port, mode)
	if err != nil {
		return nil, portError(s, err)
	}
	return &port{Port: p}, nil
}

// slice bounds one wait in the port, after which the context is looked at.
const slice = 50 * time.Millisecond

func (p *port) receive(ctx context.Context, into []byte, deadline time.Time) (int, error) {
	for {
		left := time.Until(deadline)
		if ctx.Err() != nil {
			return 0, ctx.Err()
		}
		if left <= 0 {
			return 0, os.ErrDeadlineExceeded
		}
		if n, err := p.readFor(into, min(max(left, leastWait), slice)); n > 0 || err != nil {
			return n, err
		}
	}
}

func (p *port) waiting(into []byte) int {
	if runtime.GOOS == "windows" { // it can't read without waiting there
		_ = p.ResetInputBuffer()
		return 0
	}
	n, _ := p.readFor(into, 0)
	return n
}

// readFor reads once; nothing in time is 0 without an error. The library
// panics on a port whose number among the open files is above 1023, and that
// becomes an error.
func (p *port) readFor(into []byte, d time.Duration) (n int, err error) {
	defer func() {
		if recover() != nil {
			n, err = 0, errors.New("too many files are open for a serial port to be read")
		}
	}()
	if err := p.SetReadTimeout(d); err != nil {
		return 0, err
	}
	return p.Read(into)
}

var (
	errPortClosed = errors.New("the port is closed")
	errStuck      = errors.New("a write is stuck in the port, so it stays open")
)

// Write sends, unless the port is closed: the library would write to whatever
// file has its number by then.
func (p *port) Write(b []byte) (int, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.closed {
		return 0, errPortClosed
	}
	for sent := 0; sent < len(b); {
		n, err := p.Port.Write(b[sent:])
		if err != nil {
			return sent, err
		}
		sent += n
	}
	return len(b), nil
}

// Close ends a read in flight too. A write that is stuck in the port would keep
// Close for ever; after a second the port is left open rather than taken from
// under the write.
func (p *port) Close() error {
	for begun := time.Now(); !p.mu.TryLock(); time.Sleep(time.Millisecond) {
		if time.Since(begun) > time.Second {
			return errStuck
		}
	}
	defer p.mu.Unlock()
	if p.closed {
		return nil
	}
	p.closed = true
	return p.Port.Close()
}

// portError says what keeps a port from being opened, and what to do.
func portError(s Serial, err error) error {
	var p *serial.PortError
	if errors.As(err, &p) {
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
