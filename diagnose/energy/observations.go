package energy

import (
	"math"
	"math/cmplx"
	"time"

	"legwork/probe/reading"
)

// Observations keeps what many readings say of the load, in memory that doesn't grow
// without end. The zero value is ready.
type Observations struct {
	rows   [][3]drawn
	stride int // one row is kept of so many readings
	n      int // readings so far

	first, last time.Time
}

// drawn is what one channel reads: its voltage in V with its angle from that of
// channel 1 where the meter gives it, and its power of the fundamental in VA.
type drawn struct {
	known bool
	volts float64
	angle reading.Maybe[reading.Angle]
	power complex128
	open  bool // the sign of its imaginary part isn't known: V, I and P alone
}

// mostRows are kept; then every second one is dropped.
const mostRows = 20_000

// Add takes one more reading.
func (s *Observations) Add(r reading.Reading) {
	s.stride = max(s.stride, 1)
	s.n++
	if s.first.IsZero() {
		s.first = r.At
	}
	s.last = r.At
	if s.n%s.stride != 0 {
		return
	}
	var row [3]drawn
	for k := range min(len(r.Channels), len(row)) {
		row[k] = drawnOf(r.Channels[k])
	}
	s.rows = append(s.rows, row)
	if len(s.rows) >= mostRows {
		for i := range len(s.rows) / 2 {
			s.rows[i] = s.rows[2*i+1]
		}
		s.rows, s.stride = s.rows[:len(s.rows)/2], 2*s.stride
	}
}

// drawnOf takes power with a signed reactive power, or an angle; a bare power
// leaves the sign of the angle open.
func drawnOf(c reading.Channel) drawn {
	v, ok := c.Voltage.Get()
	p, okP := c.Power.Get()
	q, okQ := c.Reactive.Get()
	theta, okT := c.Angle.Get()
	amps, okI := c.Current.Get()
	d := drawn{known: ok && v > 0, volts: v, angle: c.VoltageAngle}
	switch {
	case okP && okQ && !c.ReactiveUnsigned && (q < 0 || !okT || theta >= 0):
		d.power = complex(p, q)
	case okT && okI:
		d.power = cmplx.Rect(v*amps, theta.Radians())
	case okP && okI:
		d.power, d.open = complex(p, math.Sqrt(max(0, v*v*amps*amps-p*p))), true
	default:
		d.known = false
	}
	return d
}
