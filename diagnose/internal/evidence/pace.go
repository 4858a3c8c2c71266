package evidence

import (
	"math"

	"legwork/probe/reading"
)

// Whether power and current are of the same moment. A register that is a mean over some
// time, as demand is, follows a change of load late: then each change of one without the
// other would be a change of the load's angle. Where the reactive power is read too, the
// apparent one is held against the current, which no change of the angle moves by itself:
//
//	S = sqrt(P^2 + Q^2)

// Bounds of it, of a channel's voltage times its current. Our choice, no source.
const (
	stillWithin = 0.01 // what stays
	moveBeyond  = 0.04 // what moves
	leastLate   = 3    // times that one moved alone
	lateShare   = 0.1  // the same, of all pairs of readings
	mostOfVA    = 3.0  // beyond which a power is misread, and not late
)

// Pace follows pairs of readings.
type Pace struct {
	pairs, late int
	before      [3]pacing
	alone       [3]int        // what moved alone into the last reading: 1 the current, -1 the power, 0 neither
	finest      [3][2]float64 // the steps in which current and power are read: the finest so far
}

type pacing struct {
	volts, amps, power float64 // V, A, and W or VA
	known              bool
}

// Add takes a reading.
func (p *Pace) Add(r *reading.Reading) {
	for k := range min(len(r.Channels), len(p.before)) {
		c := &r.Channels[k]
		was := p.before[k]
		now := pacing{volts: math.Abs(c.Voltage.Or(0)), amps: math.Abs(c.Current.Or(0)), power: c.Power.Or(0)}
		if q, ok := c.Reactive.Get(); ok {
			now.power = math.Hypot(now.power, q)
		}
		now.known = c.Voltage.Known() && c.Current.Known() && c.Power.Known() && math.Abs(now.power) < mostOfVA*now.volts*now.amps
		p.before[k] = now
		if !now.known {
			continue
		}
		p.finest[k][0] = finer(p.finest[k][0], now.amps)
		p.finest[k][1] = finer(p.finest[k][1], c.Power.Or(0))
		if was.known && min(was.amps, now.amps) >= leastDrop && math.Abs(now.volts-was.volts) < stillWithin*now.volts {
			p.compare(k, was, now)
		} else {
			p.alone[k] = 0
		}
	}
}

// compare counts a pair of which the one moved and the other stayed; where the other does so
// at the next reading, the registers are one reading apart, and right as soon as the load stands.
func (p *Pace) compare(k int, was, now pacing) {
	scale := max(was.amps, now.amps) * now.volts
	steps := 1.5 * (p.finest[k][0]*now.volts + p.finest[k][1]) // what the registers' steps may hide
	amps, power := math.Abs(now.amps-was.amps)*now.volts, math.Abs(now.power-was.power)
	before := p.alone[k]
	p.pairs++
	p.alone[k] = 0
	switch {
	case power <= stillWithin*scale && amps > moveBeyond*scale+steps:
		p.alone[k] = 1
	case amps <= stillWithin*scale && power > moveBeyond*scale+steps:
		p.alone[k] = -1
	default:
		return
	}
	if p.late++; p.alone[k] == -before {
		p.late -= 2
		p.alone[k] = 0
	}
}

// Late reports power and current of different times.
func (p *Pace) Late() bool {
	return p.late >= leastLate && float64(p.late) >= lateShare*float64(p.pairs)
}

// finer is the finest decimal step that values are read in, down to a thousandth.
func finer(step, x float64) float64 {
	if step == 0 {
		step = 1000
	}
	for step > 0.001 && math.Abs(x/step-math.Round(x/step)) > 1e-6 {
		step /= 10
	}
	return step
}
