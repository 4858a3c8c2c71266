package fleet

import (
	"math"
	"math/cmplx"
	"time"

	"legwork/probe/reading"
	"legwork/sim"
)

// sumOf is what a rightly wired main meter reads above some suites: on each leg
// the sum of what the suites' legs carry, without losses.
func sumOf(suites []*sim.Place, now time.Time) reading.Reading {
	var legs [3]complex128 // W and var
	var volts [3]float64
	var first sim.Truth
	for i, p := range suites {
		p.Advance(now)
		t := p.Truth()
		if i == 0 {
			first = t
		}
		for k, l := range t.Legs {
			legs[k] += complex(l.Power, l.Reactive)
			volts[k] += l.Voltage / float64(len(suites))
		}
	}
	r := reading.Reading{At: now, Service: first.Service, Frequency: reading.Known(60.0)}
	var total complex128
	for k := range first.Legs {
		total += legs[k]
		r.Channels = append(r.Channels, channelOf(legs[k], volts[k], spread(len(first.Legs), first.Service, k)))
	}
	for pair, ends := range [3][2]int{{0, 1}, {1, 2}, {2, 0}} {
		if max(ends[0], ends[1]) < len(r.Channels) {
			r.LineVoltages[pair] = reading.Known(cmplx.Abs(phasor(&r.Channels[ends[0]]) - phasor(&r.Channels[ends[1]])))
		}
	}
	r.TotalPower, r.TotalReactive = reading.Known(real(total)), reading.Known(imag(total))
	return r
}

func channelOf(s complex128, volts, at float64) reading.Channel {
	theta := reading.Degrees(cmplx.Phase(s) * 180 / math.Pi)
	return reading.Channel{
		Voltage: reading.Known(volts), Current: reading.Known(cmplx.Abs(s) / volts),
		Power: reading.Known(real(s)), Reactive: reading.Known(imag(s)), Apparent: reading.Known(cmplx.Abs(s)),
		PowerFactor: reading.Known(real(s) / cmplx.Abs(s)), PowerFactorSign: reading.SignTellsPower,
		Angle: reading.Known(theta), VoltageAngle: reading.Known(reading.Degrees(at)),
		CurrentAngle: reading.Known(reading.Degrees(at - float64(theta))),
	}
}

// spread is the angle of a leg's voltage, degrees: legs 180 degrees apart on
// 120/240, else 120.
func spread(legs int, service string, k int) float64 {
	if legs == 2 && service == "120/240" {
		return float64(180 * k)
	}
	return float64(-120 * k)
}

// phasor is a channel's voltage.
func phasor(c *reading.Channel) complex128 {
	return cmplx.Rect(c.Voltage.Or(0), float64(c.VoltageAngle.Or(0))*math.Pi/180)
}
