package infer

import (
	"math"

	"legwork/diagnose/internal/gaussian"
)

// The likelihood of a change of load under an arrangement: one leg's load, one
// between two legs (their currents equal and opposite), a three-phase one, or
// anything.

// moved is what a change of load did to the legs, nil where it isn't known, and to the
// neutral that carries their sum. One of the four follows from the others: the sum, or a
// leg without a CT.
type moved struct {
	legs [3]*legChange
	sum  legChange
	bare int // the leg whose change follows from the others; -1 for none
}

// add is the sum where it follows.
func (all *moved) add() {
	for _, c := range all.legs {
		if c != nil {
			all.sum = legChange{amps: all.sum.amps + c.amps, noise: math.Hypot(all.sum.noise, c.noise), blur: math.Hypot(all.sum.blur, c.blur)}
		}
	}
}

// mixture is the density of the legs' changes together, times a factor, in each mix of loads.
func (w *changes) mixture(all *moved, factor float64) (p [len(mixes)]float64) {
	one, two, three, rest := w.parts(all)
	for x, m := range &mixes {
		p[x] = factor * (m.one*one + m.two*two + m.three*three + rest)
	}
	return p
}

// parts are the densities of the legs' changes as those of one single load: on one leg,
// between two, on three; and, with its share, as anything else.
func (w *changes) parts(all *moved) (one, two, three, rest float64) {
	n, lean := 0, 1.0
	legs := w.scene.Frame.Service.Legs()
	pairs := float64(legs * (legs - 1) / 2)
	for _, c := range all.legs {
		if c != nil {
			n++
			lean *= c.lean
		}
	}
	rest = stepAnything * anything(all, n) * lean
	for m, c := range all.legs {
		if c == nil {
			continue
		}
		one += c.own * all.still(m, -1) / float64(n)
		for o := range m {
			if all.legs[o] != nil {
				between, both := w.twoLegs(all, m, o)
				two += between / pairs
				rest += both
			}
		}
	}
	if n > 1 {
		two += w.unseenPartner(all, n) / pairs
	}
	if legs < 3 || n < 2 {
		return one, two, three, rest
	}
	if match, of := w.alike(all, -1); match > 0 {
		three = match * all.legs[of].three
	}
	if n == 3 {
		rest += stepSeveral * several(all) * lean
	}
	if n == 3 && all.sharp() {
		rest += stepBoth / 5 / 3 * (w.both(all) + twoPairs(all))
	}
	return one, two, three, rest
}

// anything is the density of many loads changing at once: of the three legs' changes
// and their sum, the neutral's, any three are as likely as the others to be of any
// size at any angle, and the fourth follows. So it says nothing of a CT on the neutral.
func anything(all *moved, n int) float64 {
	p := 1.0
	var each [3]float64
	for m, c := range all.legs {
		if c != nil {
			each[m] = c.stray
			p *= c.stray
		}
	}
	if n < 3 {
		return p
	}
	return (p + strayDensity(&all.sum)*(each[0]*each[1]+each[0]*each[2]+each[1]*each[2])) / 4
}

// sharp reports changes whose angles are known: of blurred ones two loads at once
// would explain anything.
func (all *moved) sharp() bool {
	for _, c := range all.legs {
		if c.blur > 1.5*c.noise {
			return false
		}
	}
	return true
}

// twoLegs is one load between two legs, and, with its share, a load on each of them at once.
func (w *changes) twoLegs(all *moved, m, o int) (between, both float64) {
	still := all.still(m, o)
	if still < 1e-18 { // anything else explains it better
		return 0, 0
	}
	a, b := all.legs[m], all.legs[o]
	rest := legChange{amps: a.amps + b.amps, noise: math.Hypot(a.noise, b.noise), blur: math.Hypot(a.blur, b.blur)}
	each := a.own*b.own + a.line[o]*w.load(w.kinds, &rest, w.turn[o]) + b.line[m]*w.load(w.kinds, &rest, w.turn[m])
	return still * a.line[o] * all.opposed(m, o), still * stepBoth / 5 / 3 * each / 3
}

// several is the density of many loads changing at once that leave one leg as it was,
// or the neutral: the sum of the legs' changes. Of what is left any two may be of any
// size at any angle. Like anything, it says nothing of a CT on the neutral.
func several(all *moved) (p float64) {
	still, each := [4]float64{3: gaussian.Plane(all.sum.amps, all.sum.noise)}, [4]float64{3: strayDensity(&all.sum)}
	for m, c := range all.legs {
		still[m], each[m] = c.still, c.stray
	}
	for i := range still {
		a, b, c := each[(i+1)%4], each[(i+2)%4], each[(i+3)%4]
		p += still[i] * (a*b + a*c + b*c) / 12
	}
	return p
}

// twoPairs is two loads that change at once, each between leg m and one of the others.
func twoPairs(all *moved) (p float64) {
	match := gaussian.Plane(all.sum.amps, all.sum.blur)
	if match == 0 {
		return 0
	}
	for m := range all.legs {
		n, o := (m+1)%3, (m+2)%3
		p += match * all.legs[n].line[m] * all.legs[o].line[m]
	}
	return p
}

// both is two loads that change at once, where what the one does shows on a leg
// by itself: a three-phase one with one of a leg, or with one of two; one between
// two legs with one of the third leg.
func (w *changes) both(all *moved) (p float64) {
	for m, c := range all.legs {
		n, o := (m+1)%3, (m+2)%3
		if match, of := w.alike(all, m); match > 0 {
			first := all.legs[of]
			rest := c.less(first.amps*w.turned[of][m], first.blur)
			p += match * first.three * w.load(w.kinds, &rest, w.turn[m])
		}
		left, right := all.legs[n].amps-c.amps*w.turned[m][n], all.legs[o].amps-c.amps*w.turned[m][o]
		variance := squared(all.legs[n].blur) + squared(all.legs[o].blur) + 2*squared(c.blur)
		if match := opposed(left, right, variance); match > 0 {
			rest := all.legs[n].less(c.amps*w.turned[m][n], c.blur)
			p += match * c.three * w.load(w.kinds, &rest, w.line[n][o])
		}
		p += all.opposed(n, o) * all.legs[n].line[o] * c.own
	}
	return p
}

// unseenPartner is a load between a measured leg and one that isn't.
func (w *changes) unseenPartner(all *moved, n int) (p float64) {
	legs := w.scene.Frame.Service.Legs()
	if n == legs {
		return 0
	}
	for m, c := range all.legs {
		if c == nil {
			continue
		}
		for o := range legs {
			if all.legs[o] == nil {
				p += c.line[o] * all.still(m, -1)
			}
		}
	}
	return p
}

// still is the density of the legs other than m and o not changing. One without a CT
// doesn't where the neutral takes what m does, and nothing of a load between m and o.
func (all *moved) still(m, o int) float64 {
	p := 1.0
	for i, c := range all.legs {
		switch {
		case i == m || i == o || c == nil:
		case i != all.bare:
			p *= c.still
		case o >= 0:
			p *= all.sum.still
		default:
			of := all.legs[m]
			p *= opposed(all.sum.amps, -of.amps, squared(all.sum.noise)+squared(of.noise))
		}
	}
	return p
}

// opposed is the density of two legs' changes being equal and opposite.
func (all *moved) opposed(m, o int) float64 {
	if m == all.bare || o == all.bare {
		return gaussian.Plane(all.sum.amps, all.sum.blur)
	}
	a, b := all.legs[m], all.legs[o]
	return opposed(a.amps, b.amps, squared(a.blur)+squared(b.blur))
}

// opposed is the density of two changes being equal and opposite, by the variance of
// their sum.
func opposed(a, b complex128, variance float64) float64 {
	return gaussian.PlaneOf(a+b, variance+squared(cancelSlack)*square(a))
}

// alike is the density of the known legs, but for one, changing as a three-phase
// load has them, given the first of them.
func (w *changes) alike(all *moved, but int) (p float64, first int) {
	first, p = -1, 1
	if but < 0 && all.bare >= 0 {
		p = gaussian.Plane(all.sum.amps, all.sum.blur)
	}
	for m, c := range all.legs {
		if c == nil || m == but || m == all.bare && but < 0 {
			continue
		}
		if first < 0 {
			first = m
			continue
		}
		of := all.legs[first]
		variance := squared(c.blur) + squared(of.blur) + squared(cancelSlack)*square(of.amps)
		if p *= gaussian.PlaneOf(c.amps-of.amps*w.turned[first][m], variance); p == 0 {
			return 0, first
		}
	}
	return p, first
}

func squared(x float64) float64 { return x * x }
