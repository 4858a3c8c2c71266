package learn

import (
	"cmp"
	"math"
	"slices"

	"legwork/probe/reading"
)

const mostExplanations = 150

// explain lists explanations that begin with an anchor.
func (l *library) explain(a *anchor, c context) []*explanation {
	currents := l.beside(a.group, c, func(g *group) bool { return isCurrent(a.group, g) && l.shows(g, reading.Current) })
	powers := l.beside(a.group, c, func(g *group) bool { return isPower(a.group, g) })
	var all []*explanation
	shown := map[*group]bool{}
	for _, p := range powers {
		shown[p] = l.shows(p, reading.Power)
	}
	for _, i := range currents {
		f := newFlow(a, i)
		if f == nil {
			continue
		}
		here := l.pairs(a, f, powers, func(p *group) bool { return c.own(a.form) || c.own(i.form) || c.own(p.form) })
		if len(here) > 0 && !c.own(a.form) && !c.own(i.form) { // another context has the others, which may be their like
			here = append(here, l.pairs(a, f, powers, func(p *group) bool {
				return !c.own(p.form) && slices.ContainsFunc(here, func(e *explanation) bool { return alongside(e.p, p) })
			})...)
		}
		for _, e := range here {
			e.shown = -20 // reactive and apparent power serve as such only
			if shown[e.p] {
				e.shown = e.bestShown(l.measured)
			}
		}
		here = byScore(here, len(here))
		rest := here[min(len(here), 60):]
		slices.SortStableFunc(rest, func(a, b *explanation) int { return cmp.Compare(b.score, a.score) })
		here = here[:min(len(here), 120)]
		for _, e := range here {
			if c.own(a.form) || c.own(i.form) || c.own(e.p.form) {
				e.addApparent(here)
				all = append(all, e)
			}
		}
	}
	return byScore(all, 40)
}

// pairs weighs the powers that are wanted beside a current.
func (l *library) pairs(a *anchor, f *flow, powers []*group, want func(*group) bool) []*explanation {
	var all []*explanation
	for _, p := range powers {
		if !want(p) {
			continue
		}
		if e := l.pair(a, f, p); e != nil {
			e.addPlaces()
			e.one = e.unity()
			all = append(all, e)
		}
	}
	return all
}

// byScore keeps the likeliest.
func byScore(all []*explanation, most int) []*explanation {
	slices.SortStableFunc(all, func(a, b *explanation) int { return cmp.Compare(b.score+b.shown, a.score+a.shown) })
	return all[:min(len(all), most)]
}

// shows reports a group that goes with what was measured of its quantity, but
// for the power of ten, on most channels.
func (l *library) shows(g *group, q reading.Quantity) bool {
	good, bad := 0, 0
	for _, m := range l.measured {
		if m.Point.Quantity != q || m.Point.Index < 1 || m.Point.Index > len(g.of) || m.Value == 0 {
			continue
		}
		one := g.of[m.Point.Index-1]
		if one.zero() {
			continue
		}
		if slices.ContainsFunc(one.x, func(x float64) bool {
			ten := math.Log10(math.Abs(x) / m.Value)
			return math.Abs(ten-math.Round(ten)) < 0.15
		}) {
			good++
		} else {
			bad++
		}
	}
	return good >= bad || bad == 1
}

// enough is a score from which fewer channels aren't looked for.
const enough = 24

// explanations lists what the image could hold, the likeliest first.
func (l *library) explanations() []*explanation {
	var all []*explanation
	channels := 3
	if n := measuredTo(l.measured); n > 1 {
		channels = n // who measures one may stop there; who measures two would go on
	}
	for n := channels; n >= 1; n-- {
		for _, c := range contexts() {
			anchors := l.anchors(c, n)
			for i := range anchors {
				some := l.explain(&anchors[i], c)
				l.refine(some, &anchors[i], anchors, c)
				all = append(all, some...)
			}
		}
		all = byScore(all, mostExplanations)
		if len(all) > 0 && all[0].score > enough && !all[0].idle {
			break // it would fit fewer channels as well, only less
		}
	}
	return byScore(all, mostExplanations)
}

// refine weighs what else a meter gives of the same channels: power factors,
// totals, means, line voltages.
func (l *library) refine(all []*explanation, a *anchor, anchors []anchor, c context) {
	factors := l.factorGroups(a, c)
	lineVoltage := isLineVoltage(a, anchors)
	for _, e := range all {
		e.addFactor(factors)
		if lineVoltage {
			e.add("line voltage", -3)
		}
		if len(e.p.of) > 1 {
			e.addTotals(l, c)
		}
		e.addOrder()
		e.addBefore(l)
		if len(e.p.of) < 3 && len(l.measured) == 0 {
			e.addLeftOut(l)
		}
		for _, g := range []*group{e.v.group, e.i} {
			if l.meanFollows(g) {
				e.add("mean follows", 1.5)
			}
			if g == e.i && l.endsInMean(g) {
				e.add("a channel late", -6)
			}
		}
		for _, g := range []*group{e.v.group, e.i, e.p} {
			e.add("halves", g.halves())
		}
	}
}
