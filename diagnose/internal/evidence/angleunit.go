package evidence

import (
	"math"

	"legwork/probe/reading"
)

// Angles that are read in the wrong unit on every channel alike.
//
// A single channel whose cosine is above P / V I may be distorted. Where on two channels or
// more the cosine of the angle in another unit is P / V I to about a hundredth, and that of
// the angle as it was read is not, the unit is wrong: by chance distortion does so on one
// channel in twelve. The angles between the voltages are 60 to 180 degrees on any service,
// so their unit shows by itself.

// The differences, our choice.
const (
	sameCosine    = 0.012 // that P / V I may be off by for the errors of V, I and P
	otherCosine   = 0.04  // from which on the angle as read doesn't fit
	leastChannels = 2
	smallTurn     = 20.0 // degrees: between voltages it is no service's, nor that of crossed inputs
	nearTurn      = 5.0  // degrees, about a service's own
)

// units are the factors by which an angle may be off, and what they look like.
var units = [...]struct {
	factor float64
	looks  Misfit
}{{180 / math.Pi, Radians}, {0.1, Tenths}, {10, TenTimesSmall}}

// angleUnits finds them, and takes the angles out.
func (s *Screen) angleUnits(r *reading.Reading) {
	for _, u := range units {
		if loadAngles(r, u.factor) {
			s.dropAngles(r, u.looks)
		}
		if voltageAngles(r, u.factor) {
			s.dropVoltageAngles(r, u.looks)
		}
	}
}

// loadAngles reports load angles that fit P / V I by a factor alone.
func loadAngles(r *reading.Reading, factor float64) bool {
	told := 0
	for k := range r.Channels {
		c := &r.Channels[k]
		theta, ok := c.Angle.Get()
		p, okP := c.Power.Get()
		va, okVA := apparent(c)
		if !ok || !okP || !okVA {
			continue
		}
		off := func(a reading.Angle) float64 { return math.Abs(a.Cos() - p/va) }
		switch {
		case off(theta*reading.Angle(factor)) > sameCosine:
			return false
		case off(theta) > otherCosine:
			told++
		}
	}
	return told >= leastChannels
}

// voltageAngles reports angles between voltages that are a service's by a factor alone.
func voltageAngles(r *reading.Reading, factor float64) bool {
	told := 0
	for k := 1; k < len(r.Channels); k++ {
		from, ok := r.Channels[0].VoltageAngle.Get()
		to, okTo := r.Channels[k].VoltageAngle.Get()
		if !ok || !okTo {
			continue
		}
		turn := math.Abs(float64(to - from))
		as := float64(reading.Degrees(turn * factor).Abs())
		near := false
		for _, own := range [...]float64{60, 90, 120, 180} {
			near = near || math.Abs(as-own) < nearTurn
		}
		if turn > smallTurn || !near {
			return false
		}
		told++
	}
	return told > 0
}

func (s *Screen) dropAngles(r *reading.Reading, looks Misfit) {
	for k := range r.Channels {
		c := &r.Channels[k]
		if theta, ok := c.Angle.Get(); ok {
			va, _ := apparent(c)
			s.report(Fault{Point: pointOf(reading.AngleOf, k), Kind: AngleMisfit, Value: float64(theta), Watts: c.Power.Or(0), VA: va, Misfit: looks})
			c.Angle = reading.Maybe[reading.Angle]{}
		}
	}
}

func (s *Screen) dropVoltageAngles(r *reading.Reading, looks Misfit) {
	for k := range r.Channels {
		c := &r.Channels[k]
		if at, ok := c.VoltageAngle.Get(); ok {
			if k > 0 {
				s.report(Fault{Point: pointOf(reading.VoltageAngle, k), Kind: NoServiceAngle, Value: float64(at), Misfit: looks})
			}
			c.VoltageAngle = reading.Maybe[reading.Angle]{}
		}
	}
}
