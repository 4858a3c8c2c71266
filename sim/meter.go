package sim

import (
	"math/rand/v2"
	"slices"

	"legwork/probe/reading"
)

// MeterOptions says what a meter is like. The zero value is a meter without
// error, noise or steps, with CTs of no rating.
type MeterOptions struct {
	CTPrimary float64 // A, rated primary current of the CTs; 0 gives none and no starting current
	Class     string  // of the CTs, as in IEC 61869-2: "0.5S", "1"; empty for none
	// Noise of one reading of a voltage or a current: standard deviation as a
	// ratio, in the direction of the phasor and across it alike.
	Noise float64
	// Steps rounds: V and A to 0.01, W, var and VA to 0.1, degrees to 0.1, pf to 0.001.
	Steps bool
	// CoarseSteps rounds to whole volts and amperes, and to 100 W, var and VA.
	CoarseSteps bool
	// Omits lists quantities that the meter doesn't give.
	Omits []reading.Quantity
	// PowerFactorLags gives the power factor the sign of lagging in place of
	// that of the power.
	PowerFactorLags bool
	// RootReactive computes the reactive power as sqrt(S^2 - P^2): never
	// negative, and with the distortion in it.
	RootReactive bool
	// NeutralCT measures the neutral's current; else it is the sum of what the
	// channels see, wired as they are.
	NeutralCT bool

	Serial, Model string
}

// Meter turns what arrives at its terminals into readings.
type Meter struct {
	MeterOptions
	limits classLimits
	errors [3]ctError
}

// NewMeter is a meter whose CTs are off by shares of their class's limits that
// rng draws, evenly between the two limits. The error is an unknown class.
func NewMeter(rng *rand.Rand, o MeterOptions) (*Meter, error) {
	limits, err := limitsOf(o.Class)
	if err != nil {
		return nil, err
	}
	m := &Meter{MeterOptions: o, limits: limits}
	for k := range m.errors {
		m.errors[k] = ctError{2*rng.Float64() - 1, 2*rng.Float64() - 1}
	}
	return m, nil
}

// startingShare of the rated current is where a meter begins to register: a
// thousandth for classes 0.2 S and 0.5 S (IEC 62053-22, from memory).
const startingShare = 0.001

// measure is what the meter makes of the terminals: errors of the CTs, noise.
func (m *Meter) measure(seen Seen, k int, rng *rand.Rand) Seen {
	seen.Current = m.errors[k].distorts(seen.Current, &m.limits, m.CTPrimary)
	if m.Noise != 0 {
		seen.Voltage *= complex(1+m.Noise*rng.NormFloat64(), m.Noise*rng.NormFloat64())
		seen.Current = seen.Current.times(1 + m.Noise*rng.NormFloat64())
		seen.Current.Fundamental *= complex(1, m.Noise*rng.NormFloat64())
	}
	if seen.Current.RMS() < startingShare*m.CTPrimary {
		seen.Current = Current{}
	}
	return seen
}

// Read makes a reading of what is live and how it is wired. Time, energies and
// the service are left to the caller. rng gives the noise.
func (m *Meter) Read(f *Flow, w *Wiring, rng *rand.Rand) reading.Reading {
	seen := w.See(f)
	for k := range w.channels {
		seen[k] = m.measure(seen[k], k, rng)
	}
	r := reading.Reading{Channels: make([]reading.Channel, w.channels), Serial: m.Serial, Model: m.Model}
	for k := range r.Channels {
		r.Channels[k] = m.channel(seen[k], seen[0].Voltage)
	}
	m.whole(&r, f, seen[:w.channels])
	m.neutral(&r, f, seen[:w.channels])
	omit(&r, m.Omits)
	return r
}

// omit makes quantities unknown.
func omit(r *reading.Reading, quantities []reading.Quantity) {
	if len(quantities) == 0 {
		return
	}
	for _, p := range reading.Points() {
		if slices.Contains(quantities, p.Quantity) {
			r.SetNumber(p, reading.Value{})
		}
	}
}
