package infer

import (
	"math"
	"math/cmplx"

	"legwork/diagnose/internal/gaussian"
	"legwork/diagnose/internal/loadmodel"
)

// The likelihood of a change of load under an arrangement: one leg's load, one
// between two legs (their currents equal and opposite), a three-phase one, or
// anything. The shares are assumptions of ours, no source.
const (
	stepOneLeg   = 0.55
	stepTwoLegs  = 0.2
	stepThree    = 0.21
	stepBoth     = 0.03 // two loads at once
	stepAnything = 0.01

	stepOn = 0.55 // a load is a little likelier to be seen coming on than going off

	// sizes of a step are taken to be as likely in every octave from 0.1 A to
	// 1000 A: 1 / ln(10^4) per unit of the logarithm.
	stepSizeDensity = 1 / 9.21

	// oddLoad is the share of single loads at any angle at all: an odd one must
	// not mislead.
	oddLoad = 0.2

	// signlessNoise is the share of a change of the reactive current that may be
	// distortion, where it was derived from V, I and P alone, and signlessRest
	// that of the current that was there before.
	signlessNoise = 0.2
	signlessRest  = 0.005

	signStays = 0.9 // the sign of an angle from one state to the next
)

// legChange is the change of one leg's current, absolute, with its noise.
type legChange struct {
	known bool
	amps  complex128 // from the phasor of leg 1
	noise float64    // of a current that stays
	blur  float64    // of one that changes; more where distortion may pass for angle
}

// mixture is the density of the legs' changes together.
func (w *changes) mixture(legs *[3]legChange) float64 {
	n := 0
	anything := stepAnything
	for m := range legs {
		if legs[m].known {
			n++
			anything *= strayDensity(legs[m])
		}
	}
	p := anything
	for m := range legs {
		if !legs[m].known {
			continue
		}
		if still := w.still(legs, m, -1); still > 0 {
			p += stepOneLeg / float64(n) * w.load(w.kinds, legs[m], w.turn[m]) * still
		}
		for o := range m {
			if legs[o].known {
				p += w.twoLegs(legs, m, o)
			}
		}
	}
	if n > 1 {
		p += w.unseenPartner(legs, n)
	}
	if w.scene.Frame.Service.Legs() < 3 || n < 2 {
		return p
	}
	if match, of := w.alike(legs, -1); match > 0 {
		p += stepThree * match * w.load(w.three, legs[of], w.star[of])
	}
	if n == 3 && sharp(legs) {
		p += stepBoth / 4 / 3 * w.both(legs)
	}
	return p
}

// sharp reports changes whose angles are known: of blurred ones two loads at once
// would explain anything.
func sharp(legs *[3]legChange) bool {
	for m := range legs {
		if legs[m].blur > 1.5*legs[m].noise {
			return false
		}
	}
	return true
}

// twoLegs is one load between two legs, or a load on each of them at once.
func (w *changes) twoLegs(legs *[3]legChange, m, o int) float64 {
	still := w.still(legs, m, o)
	if still == 0 {
		return 0
	}
	var p float64
	if match := opposed(legs[m], legs[o]); match > 0 {
		p = stepTwoLegs / 3 * w.load(w.kinds, legs[m], w.line[m][o]) * match
	}
	each := w.load(w.kinds, legs[m], w.turn[m]) * w.load(w.kinds, legs[o], w.turn[o])
	return still * (p + stepBoth/4/3*each)
}

// opposed is the density of two legs' changes being equal and opposite.
func opposed(a, b legChange) float64 {
	return gaussian.Plane(a.amps+b.amps, math.Hypot(a.blur, b.blur))
}

// both is two loads that change at once, where what the one does shows on a leg
// by itself: a three-phase one with one of a leg, or with one of two; one between
// two legs with one of the third leg.
func (w *changes) both(legs *[3]legChange) (p float64) {
	for m := range legs {
		n, o := (m+1)%3, (m+2)%3
		if match, of := w.alike(legs, m); match > 0 {
			rest := legs[m].less(legs[of].amps*w.star[m]/w.star[of], legs[of].blur)
			p += match * w.load(w.three, legs[of], w.star[of]) * w.load(w.kinds, rest, w.turn[m])
		}
		left := legs[n].less(legs[m].amps*w.star[n]/w.star[m], legs[m].blur)
		right := legs[o].less(legs[m].amps*w.star[o]/w.star[m], legs[m].blur)
		if match := opposed(left, right); match > 0 {
			p += match * w.load(w.three, legs[m], w.star[m]) * w.load(w.kinds, left, w.line[n][o])
		}
		if match := opposed(legs[n], legs[o]); match > 0 {
			p += match * w.load(w.kinds, legs[n], w.line[n][o]) * w.load(w.kinds, legs[m], w.turn[m])
		}
	}
	return p
}

// less is the change without that of another load.
func (c legChange) less(amps complex128, blur float64) legChange {
	c.amps -= amps
	c.blur = math.Hypot(c.blur, blur)
	c.noise = math.Max(c.noise, c.blur)
	return c
}

// bare is the change of the leg that no CT is on, by that of their sum: what the
// others don't explain of it.
func (c legChange) bare(others *[3]legChange) legChange {
	for m := range others {
		if o := others[m]; o.known {
			c.amps -= o.amps
			c.noise, c.blur = math.Hypot(c.noise, o.noise), math.Hypot(c.blur, o.blur)
		}
	}
	return c
}

// unseenPartner is a load between a measured leg and one that isn't.
func (w *changes) unseenPartner(legs *[3]legChange, n int) float64 {
	if n == w.scene.Frame.Service.Legs() {
		return 0
	}
	var p float64
	for m := range legs {
		for o := range w.scene.Frame.Service.Legs() {
			if legs[m].known && !legs[o].known {
				p += stepTwoLegs / 3 * w.load(w.kinds, legs[m], w.line[m][o]) * w.still(legs, m, -1)
			}
		}
	}
	return p
}

// load is the density of a change as a single load on a voltage, on or off.
func (w *changes) load(kinds []float32, c legChange, voltage complex128) float64 {
	size := cmplx.Abs(c.amps)
	if size < 2*c.noise {
		return strayDensity(c)
	}
	phi := cmplx.Phase(voltage/c.amps) * 180 / math.Pi
	on, off := kinds[loadmodel.Cell(phi)], kinds[loadmodel.Cell(phi+180)]
	angle := (stepOn*float64(on) + (1-stepOn)*float64(off)) / (loadmodel.CellDegrees * math.Pi / 180)
	odd := math.Min(1, oddLoad+2*c.blur/size)
	angle = (1-odd)*angle + odd/(2*math.Pi)
	return stepSizeDensity / (size * size) * angle
}

// strayDensity is the density of a change of any size at any angle.
func strayDensity(c legChange) float64 {
	size := math.Max(cmplx.Abs(c.amps), 2*c.noise)
	return stepSizeDensity / (size * size) / (2 * math.Pi)
}

// still is the density of the other legs not changing.
func (w *changes) still(legs *[3]legChange, m, o int) float64 {
	p := 1.0
	for i := range legs {
		if i != m && i != o && legs[i].known {
			p *= gaussian.Plane(legs[i].amps, legs[i].noise)
		}
	}
	return p
}

// alike is the density of the known legs, but for one, changing as a three-phase
// load has them, given the first of them.
func (w *changes) alike(legs *[3]legChange, but int) (p float64, first int) {
	first, p = -1, 1
	for m := range legs {
		if !legs[m].known || m == but {
			continue
		}
		if first < 0 {
			first = m
			continue
		}
		want := legs[first].amps * w.star[m] / w.star[first]
		noise := math.Hypot(legs[m].blur, legs[first].blur) + 0.01*cmplx.Abs(want)
		if p *= gaussian.Plane(legs[m].amps-want, noise); p == 0 {
			return 0, first
		}
	}
	return p, first
}
