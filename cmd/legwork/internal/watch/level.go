package watch

import (
	"math"
	"math/cmplx"

	"legwork/probe/reading"
)

// level is what one channel reads while its load stays.
type level struct {
	amps  float64    // A
	volts float64    // V; 0 where it isn't known
	watts float64    // W
	known bool       // amps
	power bool       // watts
	angle bool       // of the current against the channel's own voltage
	z     complex128 // the current as seen from that voltage: |z| = amps, lagging below the axis
}

// levelOf takes what a channel gives: its angle, or P and Q; else sizes only.
func levelOf(c reading.Channel) level {
	var l level
	l.amps, l.known = c.Current.Get()
	l.amps = math.Abs(l.amps)
	l.volts = math.Abs(c.Voltage.Or(0))
	l.watts, l.power = c.Power.Get()
	var theta float64
	if a, ok := c.Angle.Get(); ok {
		theta, l.angle = float64(a), true
	} else if q, ok := c.Reactive.Get(); ok && l.power && !c.ReactiveUnsigned && math.Hypot(q, l.watts) > 0 {
		theta, l.angle = math.Atan2(q, l.watts)*180/math.Pi, true
	}
	l.angle = l.angle && l.known
	if l.angle {
		l.z = cmplx.Rect(l.amps, -theta*math.Pi/180)
	}
	if !l.power && l.angle && l.volts > 0 {
		l.watts, l.power = l.volts*real(l.z), true
	}
	return l
}

// What may be noise from one reading to the next: a meter of class 1 repeats to
// a few thousandths. Assumptions of ours, the same as the diagnosis makes.
const (
	noiseShare = 0.006
	leastNoise = 0.03 // A
	sigmas     = 5
)

func (l level) noise() float64 { return math.Max(leastNoise, noiseShare*l.amps) }

// shift is the change of the current from one level to another, A, with the
// change that may be nothing; a dip of the voltage moves whatever is on.
func (l level) shift(to level) (amps, nothing float64) {
	amps = math.Abs(to.amps - l.amps)
	if l.angle && to.angle {
		amps = cmplx.Abs(to.z - l.z)
	}
	nothing = sigmas * math.Hypot(l.noise(), to.noise())
	if l.volts > 0 && to.volts > 0 {
		nothing += l.amps * math.Abs(to.volts/l.volts-1)
	}
	return amps, nothing
}

// toward moves a mean by a share of the way to one more reading.
func (l level) toward(to level, share float64) level {
	part := func(a, b float64) float64 { return a + share*(b-a) }
	to.amps, to.volts, to.watts = part(l.amps, to.amps), part(l.volts, to.volts), part(l.watts, to.watts)
	if l.angle && to.angle {
		to.z = l.z + complex(share, 0)*(to.z-l.z)
	}
	return to
}

// levels are those of a meter's channels.
type levels [reading.MaxChannels]level

func levelsOf(r reading.Reading) levels {
	var l levels
	for k := range min(len(r.Channels), len(l)) {
		l[k] = levelOf(r.Channels[k])
	}
	return l
}

func (l *levels) absorb(to *levels, share float64) {
	for k := range l {
		l[k] = l[k].toward(to[k], share)
	}
}
