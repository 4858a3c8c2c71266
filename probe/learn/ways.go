package learn

import (
	"cmp"
	"math"
	"slices"

	"legwork/probe/regmap"
)

// way is which classes are long, as a bit each, in which order of a pair.
type way struct {
	long   uint
	order  int
	log    float64
	weight float64 // 1 for the likeliest
}

// waysOf lists those of an explanation. What can't stand in the likeliest is taken from
// it, but for a reactive power whose squares say more than the rows of registers do; what
// they say is weighed in any case.
func (l *library) waysOf(e *explanation, pair [2]regmap.Order) []way {
	with := *e
	l.dropMisfits(e, pair)
	all := l.ways(e.byClass(), classes, pair)
	if e.q == with.q || len(all) == 0 {
		return all
	}
	with.pf, with.pt, with.qt = nil, nil, nil // which can't all stand beside it
	squares := e.gave("chosen") - all[0].log
	for _, w := range l.ways(with.byClass(), classes, pair) {
		w.weight = math.Exp(w.log + squares)
		all = append(all, w)
		if w.weight > 1 {
			e.q, e.pf, e.pt = with.q, nil, nil
		}
	}
	return all
}

// ways lists those of the first n classes that can be, the likeliest first.
func (l *library) ways(of [classes][]*group, n int, pair [2]regmap.Order) []way {
	var all []way
	for long := range uint(1 << n) {
		for i, o := range pair {
			if x, ok := l.logStanding(of, long, o); ok {
				all = append(all, way{long: long, order: i, log: x})
			}
		}
	}
	slices.SortStableFunc(all, func(a, b way) int { return cmp.Compare(b.log, a.log) })
	for i := range all {
		all[i].weight = math.Exp(all[i].log - all[0].log)
	}
	return all
}

// orderPair lists the orders that 32-bit integers can have here.
func (e *explanation) orderPair() [2]regmap.Order {
	for _, p := range e.parts() {
		if p.exchanged() {
			return [2]regmap.Order{regmap.BADC, regmap.DCBA}
		}
	}
	return [2]regmap.Order{regmap.ABCD, regmap.CDAB}
}

// dropMisfits takes from an explanation what can't stand beside the quantities that
// it rests on, as these stand most probably.
func (l *library) dropMisfits(e *explanation, pair [2]regmap.Order) {
	core := *e
	core.q, core.pf, core.pt, core.qt = nil, nil, nil, nil
	ways := l.ways(core.byClass(), factors, pair)
	if len(ways) == 0 {
		return
	}
	fits := func() bool {
		of := core.byClass()
		for _, more := range []uint{0, 1 << factors, 1 << totals, 1<<factors | 1<<totals} {
			if _, ok := l.logStanding(of, ways[0].long|more, pair[ways[0].order]); ok {
				return true
			}
		}
		return false
	}
	if core.q = e.q; !fits() {
		core.q, e.qt = nil, nil
	}
	if core.pf = e.pf; !fits() {
		core.pf = nil
	}
	if core.pt = e.pt; !fits() {
		core.pt = nil
	}
	if core.qt = e.qt; !fits() {
		core.qt = nil
	}
	e.q, e.pf, e.pt, e.qt = core.q, core.pf, core.pt, core.qt
}

// logStanding is the logarithm of how likely classes are long, as a bit each, in
// an order; false where they can't be.
func (l *library) logStanding(of [classes][]*group, long uint, o regmap.Order) (float64, bool) {
	for c, groups := range of {
		is := long>>c&1 == 1
		if is && len(groups) == 0 {
			return 0, false // one way is enough for what isn't there
		}
		for _, g := range groups {
			if !g.canStand(is, o) {
				return 0, false
			}
		}
	}
	log := logAlike(of, long) + logSigned(of, long)
	if x, ok := l.logCells(of, long, o, true); ok {
		return log + x + logSpaced(of, long), true
	}
	x, ok := l.logCells(of, long, o, false)
	return log + x, ok
}

// logCells is how likely the registers are with the cells of all classes, with gaps
// in them or without. Where every channel has a record of its own, one record tells
// what all do.
func (l *library) logCells(of [classes][]*group, long uint, o regmap.Order, gaps bool) (float64, bool) {
	var cells []cell
	record, slots := recordOf(of, o), l.emptySlots(of)
	for c, groups := range of {
		is := long>>c&1 == 1
		for _, g := range groups {
			all := g.of
			if s := l.meanAfter(g); s != nil {
				all = append(slices.Clone(all), s)
			}
			if slots {
				if s := l.emptySlot(g); s != nil {
					all = append(slices.Clone(all), s)
				}
			}
			if record.holds(g) {
				all = all[:1]
			}
			for _, s := range all {
				cells = append(cells, cellOf(g, s, is, o, gaps))
			}
		}
	}
	log := 0.
	for i := range l.im.Blocks {
		x, ok := l.logTiling(i, cells, highFirst(o), record)
		if !ok {
			return 0, false
		}
		log += x
	}
	return log, true
}

// emptySlots reports a mean that leaves room for a third channel: then every quantity
// has that.
func (l *library) emptySlots(of [classes][]*group) bool {
	for _, groups := range of {
		for _, g := range groups {
			if s := l.meanAfter(g); s != nil && len(g.of) == 2 && s.at == g.at+3*g.stride {
				return true
			}
		}
	}
	return false
}

// emptySlot is what a group has for a third channel where there are two; nil where
// something stands there.
func (l *library) emptySlot(g *group) *series {
	if len(g.of) != 2 || g.stride > byQuantity {
		return nil
	}
	s := l.at(g.form, place{g.table, g.at + 2*g.stride})
	if s == nil || !s.zero() {
		return nil
	}
	return s
}

// canStand reports that a group may be long in an order, or short.
func (g *group) canStand(long bool, o regmap.Order) bool {
	switch {
	case g.typ == regmap.S32:
		return long && g.order == o
	case !long:
		return !g.exchanged()
	}
	return extends(g, o)
}
