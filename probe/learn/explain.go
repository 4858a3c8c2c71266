package learn

import (
	"cmp"
	"math"
	"slices"

	"legwork/probe/reading"
)

// explain lists explanations that begin with an anchor.
func (l *library) explain(a *anchor, c context) []*explanation {
	currents := l.beside(a.group, c, func(g *group) bool {
		return g.float() == a.float() && isCurrent(a.group, g) && !sameNumbers(a.group, g) && ordered(a.group, g) && l.shows(g, reading.Current)
	})
	powers := l.beside(a.group, c, func(g *group) bool { return isPower(a.group, g) && ordered(a.group, g) })
	shown := map[*group]bool{}
	for _, p := range powers {
		shown[p] = l.shows(p, reading.Power)
	}
	var all []*explanation
	for _, i := range currents {
		f := l.newFlow(a, i)
		if f == nil {
			continue
		}
		var here []*explanation
		for _, p := range powers {
			if !ordered(i, p) {
				continue
			}
			if e := l.pair(a, f, p, shown[p]); e != nil {
				here = append(here, e)
			}
		}
		for _, e := range here {
			if e.shown = farOff; shown[e.p] {
				e.shown = e.bestShown(l.measured)
			}
		}
		others := partners(here)
		for _, e := range best(here, 100) {
			if !c.own(a.group, i, e.p) {
				continue // another context has it
			}
			e.addApparent(others)
			all = append(all, e)
		}
	}
	return best(all, 80)
}

// farOff stands for what is far from what was measured.
const farOff = -40

// partners are the groups that could be the apparent or the reactive power of
// another: those that fit best, whatever was measured of them.
func partners(all []*explanation) []*explanation {
	few := best(slices.Clone(all), 60)
	add := func(rank func(e *explanation) float64, most int) {
		sorted := slices.Clone(all)
		order(sorted, rank)
		for _, e := range sorted[:min(len(sorted), most)] {
			if !slices.Contains(few, e) {
				few = append(few, e)
			}
		}
	}
	add(func(e *explanation) float64 { return e.one }, 20)
	add(func(e *explanation) float64 { return -math.Abs(float64(e.p.at - e.i.at)) }, 40)
	add(func(e *explanation) float64 { return e.score }, 80)
	return few
}

// best keeps the likeliest.
func best(all []*explanation, most int) []*explanation {
	order(all, func(e *explanation) float64 { return e.score + e.shown })
	return all[:min(len(all), most)]
}

// order puts those with the highest rank first, and leaves those alike in their order.
func order(all []*explanation, rank func(*explanation) float64) {
	type ranked struct {
		rank float64
		was  int
		e    *explanation
	}
	list := make([]ranked, len(all))
	for i, e := range all {
		list[i] = ranked{rank(e), i, e}
	}
	slices.SortFunc(list, func(a, b ranked) int {
		return cmp.Or(cmp.Compare(b.rank, a.rank), cmp.Compare(a.was, b.was))
	})
	for i := range list {
		all[i] = list[i].e
	}
}

// pair weighs a power beside a voltage and a current; nil where it can't be one.
// shown reports that it could be the active power that was measured.
func (l *library) pair(a *anchor, f *flow, p *group, shown bool) *explanation {
	if !f.follows(p) || overlap(f.i, p) || sameNumbers(f.i, p) {
		return nil
	}
	if equal(f.i, p) {
		return nil // P over I alone is as steady as V
	}
	most, ok := largestShare(f, p)
	if !ok {
		return nil
	}
	e := &explanation{v: *a, i: f.i, p: p, ten: int(math.Ceil(math.Log10(most / (1 + powerSlack))))}
	if !e.tenFits() || shown && l.measuredTen(e) == e.ten+1 {
		e.ten++ // all factors are low
		if !e.tenFits() {
			return nil
		}
	}
	if a.repeats() && f.i.repeats() || len(p.of) == 2 && twins(a.group) && twins(f.i) && twins(p) {
		return nil // one channel, read twice
	}
	n := len(p.of)
	numbers := make([]float64, 3*n)
	e.share, e.steady, e.fuzz, e.mid = make([][]float64, n), numbers[:n], numbers[n:2*n], numbers[2*n:]
	e.weighed = make([]weighing, 0, 24)
	e.add("voltages", a.score)
	scale := math.Pow10(-e.ten)
	for k := range p.of {
		e.fuzz[k] = f.fuzz[k] + p.of[k].coarse(p.of[k].most())
		share := shareOf(f.va[k], p.of[k].x, scale)
		if share == nil {
			e.add("no current", -3)
			e.idle = true
			if len(p.of) > 1 && a.of[k].likeFrequency() && !l.isTold(reading.Point{Quantity: reading.Voltage, Index: k + 1}) {
				e.add("a frequency taken for a voltage", -6)
			}
			continue
		}
		e.share[k], e.mid[k] = share, median(share)
		if p.of[k].zero() && 20*p.of[k].step*scale < slices.Min(f.va[k]) {
			e.add("no power", -4)
		}
		e.steady[k] = e.steadiness(k)
		e.add("steady", e.steady[k])
		e.add("load", logLoad(share[0]))
	}
	if most*scale < 0.2 {
		e.add("low factor", -1.5)
	}
	e.addPlaces()
	e.one = e.unity()
	return e
}
