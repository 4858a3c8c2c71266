package link

import (
	"cmp"
	"fmt"
	"time"
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
	s.Baud = cmp.Or(s.Baud, defaultBaud)
	s.Parity = cmp.Or(s.Parity, EvenParity)
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
