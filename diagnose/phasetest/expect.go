package phasetest

import (
	"fmt"
	"math"
	"math/cmplx"

	"legwork/diagnose/wiring"
)

const (
	// supplyRange is how far, of nominal, a supply normally lies: IEC 60038, +-10 %.
	supplyRange = 0.10
	// sameLegShare is how much of the voltage to neutral two points of one leg may
	// read: about 0 V. Common practice, no source; 6 V on 120 V is an allowance of ours.
	sameLegShare = 0.05
	// floatShare bounds what a tap that nothing holds reads, of what a sound one
	// would: its potential lies between those of the conductors beside it, and the
	// tester's own impedance pulls it down. An assumption of ours.
	floatShare = 0.8
)

// Band is a range of voltages, V, both ends within.
type Band struct {
	Low  float64 `json:"low"`
	High float64 `json:"high"`
}

// has reports whether a voltage is in the band.
func (b Band) has(volts float64) bool { return volts >= b.Low && volts <= b.High }

// String is the band in whole volts.
func (b Band) String() string { return fmt.Sprintf("%.0f to %.0f V", b.Low, b.High) }

// about is the middle of a band as a person would say it.
func (b Band) about() float64 {
	if b.Low <= 0 {
		return 0
	}
	return (b.Low + b.High) / 2
}

// world is what is the same for every mapping and yet not known: the potentials
// of the legs, V, where the high leg may be any, and on dead conductors which
// legs a load or a transformer joins.
type world struct {
	high   wiring.Leg
	legs   [3]complex128
	joined [3]int // the number of the net of each leg
}

// worlds lists those that this test must allow for.
func (t Test) worlds() []world {
	if t.Dead {
		return t.deadWorlds()
	}
	if t.Service.Kind == wiring.HighLegDelta && t.Service.HighLeg == wiring.NoLeg {
		var all []world
		for high := wiring.Leg(1); high <= 3; high++ {
			s := t.Service
			s.HighLeg = high
			all = append(all, world{high: high, legs: potentials(s)})
		}
		return all
	}
	return []world{{high: t.Service.HighLeg, legs: potentials(t.Service)}}
}

// deadWorlds joins no legs, any two, or all: what isn't isolated reads closed.
func (t Test) deadWorlds() []world {
	apart := world{joined: [3]int{0, 1, 2}}
	all := []world{apart}
	n := t.Service.Legs()
	for i := range n {
		for j := i + 1; j < n; j++ {
			w := apart
			w.joined[j] = i
			all = append(all, w)
		}
	}
	if n == 3 {
		all = append(all, world{})
	}
	return all
}

// potentials are those of the legs, V, against the neutral or a delta's star
// point. The sequence doesn't matter: it turns the picture over and leaves every
// distance as it is.
func potentials(s wiring.Service) [3]complex128 {
	e := s.LegPhasors(wiring.Forward)
	for m := range e {
		e[m] *= complex(s.Nominal, 0)
	}
	return e
}

// toNeutral is the smallest voltage of a leg to the middle, V.
func (t Test) toNeutral() float64 {
	if t.Service.Kind == wiring.Delta {
		return t.Service.Nominal / math.Sqrt(3) // the corners of a triangle to its middle
	}
	return t.Service.Nominal
}

// zeroBelow is up to where a reading counts as 0 V.
func (t Test) zeroBelow() float64 { return sameLegShare * t.toNeutral() }

// between is what two potentials read.
func (t Test) between(a, b complex128) Band {
	d := cmplx.Abs(a - b)
	if d < 1e-6*t.Service.Nominal { // one conductor, but for rounding
		return Band{0, t.zeroBelow()}
	}
	return Band{(1 - supplyRange) * d, (1 + supplyRange) * d} // |a - b| within the supply's range
}

// line is the smallest voltage between a leg and another one, V; to neutral
// where there is no other.
func (t Test) line(w *world) float64 {
	least := math.Inf(1)
	for i := range t.Service.Legs() {
		for j := range i {
			least = math.Min(least, cmplx.Abs(w.legs[i]-w.legs[j]))
		}
	}
	if math.IsInf(least, 1) {
		return t.toNeutral()
	}
	return least
}
