package sim

import (
	"math"
	"math/cmplx"
)

// Kind is what a load is.
type Kind uint8

// The kinds of load.
const (
	Heat Kind = iota
	Lighting
	Electronics // rectifiers: the current is distorted
	Motor
	IdlingMotor
	Capacitor
	Generation // an inverter: its power flows towards the source
	kinds      // how many there are
)

var kindNames = [kinds]string{"heat", "lighting", "electronics", "motor", "idling-motor", "capacitor", "generation"}

// String is the kind as scenario files write it.
func (k Kind) String() string {
	if k >= kinds {
		return "unknown"
	}
	return kindNames[k]
}

// keepsPower reports a kind that draws more current when the voltage falls; the
// others draw less, as an impedance does. Common practice, no source.
func (k Kind) keepsPower() bool {
	return k == Electronics || k == Motor || k == Generation
}

// Across says between which conductors a load hangs. Its zero value is a
// balanced three-phase load on all three legs.
type Across struct{ from, to Conductor }

// ThreePhase is the connection of a balanced three-phase load.
func ThreePhase() Across { return Across{} }

// ToNeutral is the connection from a leg to the neutral.
func ToNeutral(leg Conductor) Across { return Across{leg, Neutral} }

// Between is the connection between two legs.
func Between(a, b Conductor) Across { return Across{a, b} }

// IsThreePhase reports a load on all three legs.
func (a Across) IsThreePhase() bool { return a == Across{} }

// String is the connection as scenario files write it: A-N, B-C, ABC.
func (a Across) String() string {
	if a.IsThreePhase() {
		return "ABC"
	}
	return a.from.letter() + "-" + a.to.letter()
}

// Load is one thing that is switched on and off.
type Load struct {
	Name   string
	Kind   Kind
	Across Across
	VA     float64 // apparent power of the fundamental at nominal voltage
	Lag    float64 // degrees by which the current lags the voltage across the load
	// Distortion is the harmonic current over the fundamental, as a ratio.
	Distortion float64
	Off        bool
}

// admittance of the load, given the square of its nominal voltage: conj(S)/V^2.
func (l *Load) admittance(ratedSquare float64) complex128 {
	return cmplx.Rect(l.VA/ratedSquare, -l.Lag*toRadians)
}

const toRadians = math.Pi / 180

// draws is the current at voltage v of a load across two conductors.
func (l *Load) draws(v complex128, ratedSquare float64) Current {
	y := l.admittance(ratedSquare)
	if sq := square(v); l.Kind.keepsPower() && sq > 0 {
		y *= complex(ratedSquare/sq, 0)
	}
	j := Current{Fundamental: y * v}
	if l.Distortion != 0 {
		j.Third = harmonic(v, 3, l.Distortion*cmplx.Abs(j.Fundamental))
	}
	return j
}

// drawsOfThree is the current of each leg of a three-phase load. Its star point
// is connected to nothing, so the three add up to nothing.
func (l *Load) drawsOfThree(legs [3]complex128, ratedSquare float64) (j [3]Current) {
	middle := (legs[0] + legs[1] + legs[2]) / 3
	var v [3]complex128
	var sq float64
	for i := range v {
		v[i] = legs[i] - middle
		sq += square(v[i]) / 3
	}
	y := l.admittance(ratedSquare) / 3
	if l.Kind.keepsPower() && sq > 0 {
		y *= complex(ratedSquare/sq, 0)
	}
	for i := range v {
		j[i].Fundamental = y * v[i]
		if l.Distortion != 0 {
			j[i].Fifth = harmonic(v[i], 5, l.Distortion*cmplx.Abs(j[i].Fundamental))
		}
	}
	return j
}
