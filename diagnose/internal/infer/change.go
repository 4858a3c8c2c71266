package infer

import (
	"math"
	"math/cmplx"

	"legwork/diagnose/internal/evidence"
	"legwork/diagnose/internal/gaussian"
	"legwork/diagnose/internal/loadmodel"
)

// The likelihood of a change of load under an arrangement: one leg's load, one
// between two legs (their currents equal and opposite), a three-phase one, or
// anything.

// legChange is the change of one leg's current, absolute, with its noise.
type legChange struct {
	known bool
	amps  complex128 // from the phasor of leg 1
	was   complex128 // the current before
	noise float64    // of a current that stays
	blur  float64    // of one that changes; more where distortion may pass for angle
}

// turned is a channel's change as the leg's own.
func (c legChange) turned(by complex128) legChange {
	c.amps, c.was = c.amps*by, c.was*by
	return c
}

// moved is what a change of load did to the legs, and to the neutral that carries
// their sum. One of the four follows from the others: the sum, or a leg without a CT.
type moved struct {
	legs [3]legChange
	sum  legChange
	bare int // the leg whose change follows from the others; -1 for none
}

// mixture is the density of the legs' changes together.
func (w *changes) mixture(all *moved) float64 {
	legs, n := &all.legs, 0
	for m := range legs {
		if legs[m].known {
			n++
		}
	}
	lean := w.lean(legs)
	p := stepAnything * anything(all, n) * lean
	for m := range legs {
		if !legs[m].known {
			continue
		}
		if still := all.still(m, -1); still > 0 {
			p += stepOneLeg / float64(n) * w.load(w.kinds, legs[m], w.turn[m]) * still
		}
		for o := range m {
			if legs[o].known {
				p += w.twoLegs(all, m, o)
			}
		}
	}
	if n > 1 {
		p += w.unseenPartner(all, n)
	}
	if w.scene.Frame.Service.Legs() < 3 || n < 2 {
		return p
	}
	if match, of := w.alike(all, -1); match > 0 {
		p += stepThree * match * w.load(w.three, legs[of], w.star[of])
	}
	if n == 3 {
		p += stepSeveral * several(all) * lean
	}
	if n == 3 && sharp(legs) {
		p += stepBoth / 5 / 3 * (w.both(all) + w.pairs(all))
	}
	return p
}

// anything is the density of many loads changing at once: of the three legs' changes
// and their sum, the neutral's, any three are as likely as the others to be of any
// size at any angle, and the fourth follows. So it says nothing of a CT on the neutral.
func anything(all *moved, n int) float64 {
	p := 1.0
	var each [3]float64
	for m, leg := range all.legs {
		if leg.known {
			each[m] = strayDensity(leg)
			p *= each[m]
		}
	}
	if n < 3 {
		return p
	}
	return (p + strayDensity(all.sum)*(each[0]*each[1]+each[0]*each[2]+each[1]*each[2])) / 4
}

// leanAt is where the angles of loads lie, degrees from a leg's own load.
var leanAt = [...]float64{0, 30, -30, 180, 210, 150}

// lean is what the angles say of many loads changing at once: on each leg what came
// and what went lies along the angles of loads, one way or the other, where loads
// between two legs lie 30 degrees to either side. With p that of a load's own angle
// against any angle, and s = leanShare,
//
//	product over legs of 1 - s + s (mean of p at phi, phi +- 30 and the opposites)
func (w *changes) lean(legs *[3]legChange) float64 {
	p := 1.0
	for m := range legs {
		c, size := legs[m], cmplx.Abs(legs[m].amps)
		if !c.known || size < 2*c.noise {
			continue
		}
		phi := cmplx.Phase(w.turn[m]/c.amps) * 180 / math.Pi
		var along float64
		for _, aside := range leanAt {
			along += float64(w.kinds[loadmodel.Cell(phi+aside)]) / float64(len(leanAt))
		}
		along *= 360 / loadmodel.CellDegrees
		share := leanShare * math.Max(0, 1-2*c.blur/size)
		p *= 1 - share + share*along
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
func (w *changes) twoLegs(all *moved, m, o int) float64 {
	legs, still := &all.legs, all.still(m, o)
	if still == 0 {
		return 0
	}
	var p float64
	if match := all.opposed(m, o); match > 0 {
		p = stepTwoLegs / 3 * w.load(w.kinds, legs[m], w.line[m][o]) * match
	}
	rest := sumOf(&[3]legChange{legs[m], legs[o]})
	of, at := w.load(w.kinds, legs[m], w.turn[m]), w.load(w.kinds, legs[o], w.turn[o])
	each := of*at +
		w.load(w.kinds, legs[m], w.line[m][o])*w.load(w.kinds, rest, w.turn[o]) +
		w.load(w.kinds, legs[o], w.line[o][m])*w.load(w.kinds, rest, w.turn[m])
	return still * (p + stepBoth/5/3*each/3)
}

// opposed is the density of two changes being equal and opposite.
func opposed(a, b legChange) float64 {
	return gaussian.Plane(a.amps+b.amps, math.Hypot(math.Hypot(a.blur, b.blur), cancelSlack*cmplx.Abs(a.amps)))
}

// several is the density of many loads changing at once that leave one leg as it was,
// or the neutral: the sum of the legs' changes. Of what is left any two may be of any
// size at any angle. Like anything, it says nothing of a CT on the neutral.
func several(all *moved) (p float64) {
	four := [4]legChange{all.legs[0], all.legs[1], all.legs[2], all.sum}
	var each [4]float64
	for i := range four {
		each[i] = strayDensity(four[i])
	}
	for i := range four {
		still := gaussian.Plane(four[i].amps, four[i].noise)
		if still == 0 {
			continue
		}
		a, b, c := each[(i+1)%4], each[(i+2)%4], each[(i+3)%4]
		p += still * (a*b + a*c + b*c) / 12
	}
	return p
}

// pairs is two loads that change at once, each between leg m and one of the others.
func (w *changes) pairs(all *moved) (p float64) {
	legs := &all.legs
	match := gaussian.Plane(all.sum.amps, all.sum.blur)
	if match == 0 {
		return 0
	}
	for m := range legs {
		n, o := (m+1)%3, (m+2)%3
		p += match * w.load(w.kinds, legs[n], w.line[n][m]) * w.load(w.kinds, legs[o], w.line[o][m])
	}
	return p
}

// sumOf is the change of the current in the neutral.
func sumOf(legs *[3]legChange) (sum legChange) {
	for m := range legs {
		sum.amps += legs[m].amps
		sum.noise, sum.blur = math.Hypot(sum.noise, legs[m].noise), math.Hypot(sum.blur, legs[m].blur)
	}
	return sum
}

// both is two loads that change at once, where what the one does shows on a leg
// by itself: a three-phase one with one of a leg, or with one of two; one between
// two legs with one of the third leg.
func (w *changes) both(all *moved) (p float64) {
	legs := &all.legs
	for m := range legs {
		n, o := (m+1)%3, (m+2)%3
		if match, of := w.alike(all, m); match > 0 {
			rest := legs[m].less(legs[of].amps*w.star[m]/w.star[of], legs[of].blur)
			p += match * w.load(w.three, legs[of], w.star[of]) * w.load(w.kinds, rest, w.turn[m])
		}
		left := legs[n].less(legs[m].amps*w.star[n]/w.star[m], legs[m].blur)
		right := legs[o].less(legs[m].amps*w.star[o]/w.star[m], legs[m].blur)
		if match := opposed(left, right); match > 0 {
			p += match * w.load(w.three, legs[m], w.star[m]) * w.load(w.kinds, left, w.line[n][o])
		}
		if match := all.opposed(n, o); match > 0 {
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

// bare is the change of the leg that no CT is on, by that of the neutral: what the
// others don't explain of it. What stays on the others is matched by themselves, so that
// of their uncertainty only the errors of the readings count once more.
func (c legChange) bare(others *[3]legChange, times float64) legChange {
	aside := c.blur - c.noise
	for m := range others {
		if o := others[m]; o.known {
			c.amps -= o.amps
			c.was -= o.was
			c.noise = math.Hypot(c.noise, math.Hypot(calmNoise/times*o.noise, cancelSlack*cmplx.Abs(o.amps)))
			aside = math.Hypot(aside, o.blur-o.noise)
		}
	}
	before, after := evidence.Current{Amps: cmplx.Abs(c.was)}, evidence.Current{Amps: cmplx.Abs(c.was + c.amps)}
	c.noise = math.Hypot(c.noise, times*math.Hypot(before.Noise(), after.Noise()))
	c.blur = c.noise + aside
	return c
}

// unseenPartner is a load between a measured leg and one that isn't.
func (w *changes) unseenPartner(all *moved, n int) float64 {
	legs := &all.legs
	if n == w.scene.Frame.Service.Legs() {
		return 0
	}
	var p float64
	for m := range legs {
		for o := range w.scene.Frame.Service.Legs() {
			if legs[m].known && !legs[o].known {
				p += stepTwoLegs / 3 * w.load(w.kinds, legs[m], w.line[m][o]) * all.still(m, -1)
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

// still is the density of the legs other than m and o not changing. One without a CT
// doesn't where the neutral takes what m does, and nothing of a load between m and o.
func (all *moved) still(m, o int) float64 {
	p := 1.0
	for i, leg := range all.legs {
		switch {
		case i == m || i == o || !leg.known:
		case i != all.bare:
			p *= gaussian.Plane(leg.amps, leg.noise)
		case o >= 0:
			p *= gaussian.Plane(all.sum.amps, all.sum.noise)
		default:
			of := all.legs[m]
			p *= gaussian.Plane(all.sum.amps-of.amps, math.Hypot(math.Hypot(all.sum.noise, of.noise), cancelSlack*cmplx.Abs(of.amps)))
		}
	}
	return p
}

// opposed is the density of two legs' changes being equal and opposite.
func (all *moved) opposed(m, o int) float64 {
	if m == all.bare || o == all.bare {
		return gaussian.Plane(all.sum.amps, all.sum.blur)
	}
	return opposed(all.legs[m], all.legs[o])
}

// alike is the density of the known legs, but for one, changing as a three-phase
// load has them, given the first of them.
func (w *changes) alike(all *moved, but int) (p float64, first int) {
	legs := &all.legs
	first, p = -1, 1
	if but < 0 && all.bare >= 0 {
		p = gaussian.Plane(all.sum.amps, all.sum.blur)
	}
	for m := range legs {
		if m == all.bare && but < 0 {
			continue
		}
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
