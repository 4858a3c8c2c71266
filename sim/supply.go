package sim

import (
	"math"
	"math/cmplx"
)

// Supply is a service as it stands at one site.
type Supply struct {
	Service  Service
	Sequence Sequence
	HighLeg  Conductor // of a four-wire delta, else Nothing
	// Volts holds the rms phasors of the legs in V against the neutral, on a
	// three-wire delta against the star point; legs that are absent are 0.
	Volts [3]complex128

	rated   [3]complex128 // the same at nominal voltage
	squares ratedSquares
}

// ratedSquares keeps the squares of the nominal voltages across which loads hang.
type ratedSquares struct {
	toNeutral [3]float64
	between   [3][3]float64
	star      float64 // from a leg to the middle of the three
}

// NewSupply is a balanced supply at nominal voltage. The high leg of a
// four-wire delta is B, its usual place in North America (common practice, no
// source); MoveHighLeg puts it elsewhere.
func NewSupply(s Service, q Sequence) *Supply {
	u := &Supply{Service: s, Sequence: q}
	if s.layout == highLeg {
		u.HighLeg = LegB
	}
	u.lay()
	return u
}

// MoveHighLeg puts the high leg of a four-wire delta on another conductor, at
// nominal voltages and the same sequence; on other services it does nothing.
func (u *Supply) MoveHighLeg(to Conductor) {
	if u.Service.layout == highLeg && to.isLeg() {
		u.HighLeg = to
		u.lay()
	}
}

// Scale multiplies the voltage of a leg, for unbalance. A three-wire delta's is
// that against its star point.
func (u *Supply) Scale(c Conductor, by complex128) {
	if c.isLeg() {
		u.Volts[c.index()] *= by
	}
}

func (u *Supply) lay() {
	u.rated = u.forward()
	if u.Sequence == ACB {
		for i := range u.rated {
			u.rated[i] = cmplx.Conj(u.rated[i])
		}
	}
	u.Volts = u.rated
	for i, e := range u.rated {
		u.squares.toNeutral[i] = square(e)
		for j, f := range u.rated {
			u.squares.between[i][j] = square(e - f)
		}
	}
	u.squares.star = square(u.rated[0]-u.rated[1]) / 3
}

// forward gives the nominal voltages at sequence ABC.
func (u *Supply) forward() [3]complex128 {
	n := complex(u.Service.Nominal, 0)
	switch u.Service.layout {
	case wye:
		return [3]complex128{n, n * turn(-120), n * turn(120)}
	case twoOfWye:
		return [3]complex128{n, n * turn(-120)}
	case halves:
		return [3]complex128{n, -n}
	case threeWire:
		star := n / complex(math.Sqrt(3), 0)
		return [3]complex128{star * turn(-30), star * turn(-150), star * turn(90)}
	case highLeg:
		return u.highLegDelta(n)
	}
	return [3]complex128{n}
}

// highLegDelta places the legs as seen from the middle of the winding between
// the two low ones: those at plus and minus n, the high one at the apex of the
// equilateral triangle, a quarter turn away and sqrt 3 as far. At ABC the legs
// follow each other clockwise.
func (u *Supply) highLegDelta(n complex128) (e [3]complex128) {
	h := u.HighLeg.index()
	e[(h+2)%3], e[h], e[(h+1)%3] = n, n*turn(-90)*complex(math.Sqrt(3), 0), -n
	return e
}

// ratedSquare is the square of the nominal voltage across a load; of a
// three-phase one, from a leg to the middle of the three.
func (u *Supply) ratedSquare(a Across) float64 {
	switch {
	case a.IsThreePhase():
		return u.squares.star
	case a.to == Neutral:
		return u.squares.toNeutral[a.from.index()]
	}
	return u.squares.between[a.from.index()][a.to.index()]
}

// turn is the unit phasor at an angle in degrees.
func turn(degrees float64) complex128 { return cmplx.Rect(1, degrees*math.Pi/180) }

// degrees is the angle of a phasor.
func degrees(z complex128) float64 { return cmplx.Phase(z) * 180 / math.Pi }
