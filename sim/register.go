package sim

import (
	"math"
	"math/cmplx"

	"legwork/probe/reading"
)

// leastVolts is where a meter stops telling a voltage's angle from nothing.
// Our choice, no source.
const leastVolts = 1

// channel computes a channel's quantities from its phasors.
func (m *Meter) channel(s Seen, reference complex128) reading.Channel {
	volts, amps := cmplx.Abs(s.Voltage), s.Current.RMS()
	power := s.Voltage * cmplx.Conj(s.Current.Fundamental)
	c := reading.Channel{
		Voltage:  m.size(volts),
		Current:  m.size(amps),
		Power:    m.watts(real(power)),
		Reactive: m.watts(m.reactive(power, volts*amps)),
		Apparent: m.watts(volts * amps),
	}
	m.angles(&c, s, reference)
	m.powerFactor(&c, power, volts*amps)
	return c
}

func (m *Meter) reactive(power complex128, apparent float64) float64 {
	if m.RootReactive {
		return math.Sqrt(max(0, apparent*apparent-real(power)*real(power)))
	}
	return imag(power)
}

func (m *Meter) angles(c *reading.Channel, s Seen, reference complex128) {
	hasVoltage, hasReference := cmplx.Abs(s.Voltage) >= leastVolts, cmplx.Abs(reference) >= leastVolts
	hasCurrent := s.Current.Fundamental != 0
	if hasVoltage && hasCurrent {
		c.Angle = m.angle(s.Voltage / s.Current.Fundamental)
	}
	if hasReference && hasVoltage {
		c.VoltageAngle = m.angle(s.Voltage / reference)
	}
	if hasReference && hasCurrent {
		c.CurrentAngle = m.angle(s.Current.Fundamental / reference)
	}
}

func (m *Meter) powerFactor(c *reading.Channel, power complex128, apparent float64) {
	c.ReactiveUnsigned = m.RootReactive
	c.PowerFactorSign = reading.SignTellsPower
	if m.PowerFactorLags {
		c.PowerFactorSign = reading.SignTellsLagging
	}
	if apparent == 0 {
		return
	}
	pf := real(power) / apparent
	if m.PowerFactorLags {
		pf = math.Copysign(pf, imag(power)*real(power))
	}
	c.PowerFactor = m.round(pf, 1000)
}

// whole fills what stands once in a reading. The grid is taken to keep its
// nominal frequency.
func (m *Meter) whole(r *reading.Reading, f *Flow, seen []Seen) {
	var power complex128
	for _, s := range seen {
		power += s.Voltage * cmplx.Conj(s.Current.Fundamental)
	}
	r.TotalPower, r.TotalReactive = m.watts(real(power)), m.watts(imag(power))
	for i, pair := range [3][2]int{{0, 1}, {1, 2}, {2, 0}} {
		if max(pair[0], pair[1]) < len(seen) {
			r.LineVoltages[i] = m.size(cmplx.Abs(seen[pair[0]].Voltage - seen[pair[1]].Voltage))
		}
	}
	r.Frequency = m.round(f.Supply.Service.Hz, 100)
	if m.CTPrimary > 0 {
		r.CTPrimary = reading.Known(m.CTPrimary)
	}
}

// neutral is a current only where there are a neutral and more than one leg.
func (m *Meter) neutral(r *reading.Reading, f *Flow, seen []Seen) {
	if !f.Supply.Service.HasNeutral() || len(seen) < 2 {
		return
	}
	var j Current
	for _, s := range seen {
		j = j.plus(s.Current)
	}
	if m.NeutralCT {
		j = f.In(Neutral)
	}
	r.NeutralCurrent = m.size(j.RMS())
}

// round keeps so many parts of the unit where the meter has steps.
func (m *Meter) round(x, parts float64) reading.Value {
	if m.Steps || m.CoarseSteps {
		x = math.Round(x*parts)/parts + 0 // no negative zero
	}
	return reading.Known(x)
}

// size rounds a voltage or a current, watts a power.
func (m *Meter) size(x float64) reading.Value {
	if m.CoarseSteps {
		return m.round(x, 1)
	}
	return m.round(x, 100)
}

func (m *Meter) watts(x float64) reading.Value {
	if m.CoarseSteps {
		return m.round(x, 0.01)
	}
	return m.round(x, 10)
}

func (m *Meter) angle(z complex128) reading.Maybe[reading.Angle] {
	d := m.round(degrees(z), 10).Or(0)
	return reading.Known(reading.Degrees(d))
}
