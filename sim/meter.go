package sim

import (
	"math"
	"math/cmplx"
	"math/rand/v2"

	"legwork/probe/reading"
)

// Meter is what stands between the conductors and a reading: errors of the
// CTs that stay, noise that doesn't, and steps.
type Meter struct {
	RatioError [3]float64 // share
	PhaseError [3]float64 // degrees by which a CT's secondary leads
	Noise      float64    // share of each reading, one standard deviation
	AngleNoise float64    // degrees, one standard deviation
	Steps      bool       // V to 0.1, A to 0.01, W and var to 1, degrees to 0.1
	Primary    float64    // A, rated primary current of the CTs; 0 leaves it out
}

// NewMeter draws the errors that CTs of a class keep: at 20 % of rated current
// class 0.5 may be off by 0.75 % and 45 minutes, class 1 by twice that (IEC
// 61869-2, Tables 201 and 202). A third of the limit is one standard deviation.
func NewMeter(rng *rand.Rand, class float64) *Meter {
	m := &Meter{Noise: 0.0005, AngleNoise: 0.05, Steps: true}
	for k := range m.RatioError {
		m.RatioError[k] = rng.NormFloat64() * class * 0.015 / 3
		m.PhaseError[k] = rng.NormFloat64() * class * 1.5 / 3
	}
	return m
}

// startingCurrent is where a meter stops telling a current from nothing, A.
// Common practice is a few thousandths of the rating, no source.
const startingCurrent = 0.02

// read makes the reading of a panel that is wired in a way.
func (m *Meter) read(p *Panel, w *Wiring, rng *rand.Rand) reading.Reading {
	supply := p.Supply
	if w.NeutralLost {
		supply = supply.withoutNeutral(p)
		p = &Panel{Supply: supply, Loads: p.Loads, Fixed: p.Fixed}
	}
	f := p.flow()
	volts := w.volts(supply)
	var r reading.Reading
	for k := range supply.Channels() {
		r.Channels = append(r.Channels, m.channel(k, volts, w, f, rng))
	}
	m.whole(&r, supply, volts, f, rng)
	return r
}

func (m *Meter) channel(k int, volts [3]complex128, w *Wiring, f flow, rng *rand.Rand) reading.Channel {
	var c reading.Channel
	noise := func(x float64) float64 { return x * (1 + m.Noise*rng.NormFloat64()) }
	v := noise(cmplx.Abs(volts[k]))
	c.Voltage = m.known(v, 0.1)
	ct := w.CTs[k]
	amps, rms := complex(0, 0), 0.0
	if !ct.Open && ct.Round != Nothing {
		gain := ct.Ratio * (1 + m.RatioError[k])
		amps = f.amps[ct.Round] * phasor(gain, m.PhaseError[k]+m.AngleNoise*rng.NormFloat64())
		rms = f.rms(ct.Round) * gain
		if ct.Turned {
			amps = -amps
		}
	}
	if rms < startingCurrent {
		amps, rms = 0, 0
	}
	rms = noise(rms)
	c.Current = m.known(rms, 0.01)
	s := complex(v, 0) * complex(cmplx.Abs(amps), 0) * phasor(1, 0)
	if v > 0 && amps != 0 {
		s *= phasor(1, degreesOf(volts[k]/amps))
	}
	c.Power, c.Reactive, c.Apparent = m.known(real(s), 1), m.known(imag(s), 1), m.known(v*rms, 1)
	if v*rms > 0 {
		c.PowerFactor = m.known(math.Max(-1, math.Min(1, real(s)/(v*rms))), 0.001)
		c.PowerFactorSign = reading.SignTellsPower
	}
	if v > 1 && amps != 0 {
		c.Angle = m.angle(degreesOf(volts[k] / amps))
	}
	if v > 1 && volts[0] != 0 && cmplx.Abs(volts[0]) > 1 {
		c.VoltageAngle = m.angle(degreesOf(volts[k] / volts[0]))
		if amps != 0 {
			c.CurrentAngle = m.angle(degreesOf(amps / volts[0]))
		}
	}
	return c
}

// whole fills what stands once in a reading.
func (m *Meter) whole(r *reading.Reading, s *Supply, volts [3]complex128, f flow, rng *rand.Rand) {
	pairs := [3][2]int{{0, 1}, {1, 2}, {2, 0}}
	for i, p := range pairs {
		if p[0] < s.Channels() && p[1] < s.Channels() {
			r.LineVoltages[i] = m.known(cmplx.Abs(volts[p[0]]-volts[p[1]])*(1+m.Noise*rng.NormFloat64()), 0.1)
		}
	}
	var watts, vars float64
	for _, c := range r.Channels {
		watts += c.Power.Or(0)
		vars += c.Reactive.Or(0)
	}
	r.TotalPower, r.TotalReactive = m.known(watts, 1), m.known(vars, 1)
	r.Frequency = m.known(s.Hertz*(1+0.0002*rng.NormFloat64()), 0.01)
	if s.HasNeutral && len(s.Legs) > 1 {
		r.NeutralCurrent = m.known(f.rms(Neutral), 0.01)
	}
	if m.Primary > 0 {
		r.CTPrimary = reading.Known(m.Primary)
	}
}

func (m *Meter) known(x, step float64) reading.Value {
	if m.Steps {
		x = math.Round(x/step) * step
	}
	return reading.Known(x)
}

func (m *Meter) angle(degrees float64) reading.Maybe[reading.Angle] {
	if m.Steps {
		degrees = math.Round(degrees*10) / 10
	}
	return reading.Known(reading.Degrees(degrees))
}

// withoutNeutral is the supply as its loads pull it once the neutral is open:
// the star point goes where the currents of the loads to neutral cancel.
func (s *Supply) withoutNeutral(p *Panel) *Supply {
	var pull, sum complex128
	for i := range p.Loads {
		l := &p.Loads[i]
		if l.Off || l.Three || l.To != Neutral {
			continue
		}
		v := cmplx.Abs(s.volts[l.From])
		y := cmplx.Conj(phasor(l.VA, l.Lag)) / complex(v*v, 0)
		pull += y * s.volts[l.From]
		sum += y
	}
	lost := *s
	if sum == 0 {
		return &lost
	}
	for _, c := range s.Legs {
		lost.volts[c] -= pull / sum
	}
	return &lost
}
