package prior

import "legwork/diagnose/wiring"

// placing is a way of putting inputs or CTs on legs, with its probability.
// Legs are counted from 0.
type placing struct {
	leg [3]int
	p   float64
	odd bool // an exchange of two, which turns the sequence round
}

// inputPlacings lists the ways in which the voltage inputs can be landed on
// legs of their own.
func inputPlacings(legs int) []placing {
	right := placing{leg: [3]int{0, 1, 2}, p: 1}
	all := []placing{right}
	for i := range legs {
		for j := i + 1; j < legs; j++ {
			all = append(all, exchanged(right, i, j, priorVoltageSwap))
		}
	}
	if legs == 3 {
		all = append(all, placing{leg: [3]int{1, 2, 0}, p: priorVoltageRoll},
			placing{leg: [3]int{2, 0, 1}, p: priorVoltageRoll})
	}
	return weighed(all)
}

// ctPlacings lists the ways in which one sort of installer puts CTs on legs.
func ctPlacings(s wiring.Service, c care) []placing {
	right := placing{p: 1}
	for k := range 3 {
		right.leg[k] = k
	}
	n := s.Channels()
	for k := range n {
		right.leg[k] = int(s.HomeLeg(wiring.Channel(k+1))) - 1
	}
	all := []placing{right}
	for i := range n {
		for j := i + 1; j < n; j++ {
			all = append(all, exchanged(right, i, j, c.crossed))
		}
	}
	if n == 3 {
		all = append(all, placing{leg: [3]int{1, 2, 0}, p: c.rolled}, placing{leg: [3]int{2, 0, 1}, p: c.rolled})
	}
	all = append(all, strays(s, right, c)...)
	return weighed(all)
}

// strays lists the placings that put one CT on a leg where another one is, or
// (three-wire delta) on the leg that should have none.
func strays(s wiring.Service, right placing, c care) []placing {
	var all []placing
	n := s.Channels()
	for k := range n {
		for leg := range s.Legs() {
			if leg == right.leg[k] {
				continue
			}
			stray := right
			stray.leg[k], stray.p = leg, priorShareCT
			if s.Kind == wiring.Delta && leg == 1 {
				stray.p = c.crossed
			}
			all = append(all, stray)
		}
	}
	if s.Kind == wiring.Delta { // one CT on B, the other on the first one's leg
		all = append(all, placing{leg: [3]int{2, 1, 0}, p: c.rolled}, placing{leg: [3]int{1, 0, 2}, p: c.rolled})
	}
	return all
}

func exchanged(right placing, i, j int, p float64) placing {
	right.leg[i], right.leg[j] = right.leg[j], right.leg[i]
	right.p, right.odd = p, true
	return right
}

// weighed gives the first placing, the right one, what the others leave.
func weighed(all []placing) []placing {
	for _, a := range all[1:] {
		all[0].p -= a.p
	}
	return all
}
