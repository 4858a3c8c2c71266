package learn

import (
	"math"
	"slices"
)

// addApparent looks among the powers of the same current for one that is V I
// itself, and for one that is the reactive power.
func (e *explanation) addApparent(others []*explanation) {
	bestS, bestQ := 0., 0.
	var reactive *explanation
	e.rivals = others
	if slices.ContainsFunc(others, e.tenthOf) {
		e.lower()
	}
	for _, o := range others {
		if !alongside(o.p, e.p) || o == e || overlap(o.p, e.p) {
			continue
		}
		if x := o.one; o.ten == e.ten && x > bestS && !slices.ContainsFunc(o.p.of, func(s *series) bool { return s.low < 0 }) {
			bestS, e.s = x, o.p
		}
		if x := e.reactive(o); x > bestQ {
			bestQ, e.q, reactive = x, o.p, o
		}
	}
	if e.s == e.q { // all is real power, or all is reactive: one of them is both
		e.q = nil
		bestQ = 0
	}
	e.add("S = V I", math.Max(0, math.Min(14, bestS)-0.5*math.Log(float64(1+len(others)))))
	e.add("P2 + Q2 = S2", math.Min(8, bestQ))
	if e.q != nil {
		e.addSteadier(reactive)
	}
	if e.q != nil && e.q.at < e.p.at {
		e.add("order of P and Q", -3)
	}
	if e.s != nil && e.s.at < e.p.at {
		e.add("order of P and S", -2)
	}
	if e.s != nil {
		e.add("P within S", e.within(e.s))
		if e.p.fine() && equal(e.s, e.p) {
			e.add("power is apparent", -4) // twice: no load has a factor of one to the last digit
		}
	}
	if e.s == nil && e.one > 3*float64(len(e.p.of)) {
		e.add("power is apparent", -2-math.Max(0, e.gave("steady")-2*float64(len(e.p.of))))
	}
}

// reactive weighs that another is the reactive power, in the same steps. Of one that is
// hundredths of the apparent power only what its squares prove counts: nothing would
// nearly fit as well.
func (e *explanation) reactive(o *explanation) float64 {
	switch {
	case o.ten == e.ten:
		return e.squares(o, o.ten)
	case o.ten != e.ten-1 || e.looseSquares(o):
		return -farApart
	}
	return e.squares(o, o.ten) - math.Max(0, e.squares(o, e.ten-9))
}

// tenthOf reports that another is the apparent power, if all factors are a tenth.
func (e *explanation) tenthOf(o *explanation) bool {
	return o.ten == e.ten+1 && o.one > 3*float64(len(o.p.of)) && alongside(o.p, e.p) && !overlap(o.p, e.p) && !e.i.float()
}

// addSteadier counts the steadier one of active and reactive power: the other is
// tied to it by the squares, and says no more of which is which.
func (e *explanation) addSteadier(reactive *explanation) {
	for k, steady := range e.steady {
		e.add("steadier", math.Max(0, reactive.steady[k]-steady))
	}
}

// within weighs that P isn't beyond S on the whole, whatever changes between the
// moments at which the two are read: where nearly all power is active, only that
// tells them apart.
func (e *explanation) within(s *group) float64 {
	log := 0.
	for k, p := range e.p.of {
		n, mean, squares := float64(len(p.x)), 0., 0.
		for r := range p.x {
			over := math.Abs(p.x[r]) - math.Abs(s.of[k].x[r])
			mean += over / n
			squares += over * over / n
		}
		spread := math.Sqrt(math.Max(0, squares-mean*mean) / n)
		if t := mean / (spread + 0.3*(p.grain()+s.of[k].grain())/math.Sqrt(n) + 1e-5*p.most()); t > 0 {
			log -= n / 2 * math.Log1p(t*t/n) // Student's t: few rounds prove little
		}
	}
	return math.Max(-12, log)
}
