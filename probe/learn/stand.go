package learn

import (
	"cmp"
	"math"
	"slices"

	"legwork/probe/regmap"
)

// standing says how the short integers of a group stand in registers: as they
// are, or as the low half of 32-bit ones. Small values read alike in one order at
// one address and in another at the next.
type standing struct {
	long        bool
	order       regmap.Order
	probability float64
}

// Quantities of one class stand alike in a meter's registers.
const (
	volts = iota
	amps
	powers
	factors
	totals
	classes
)

// standings is how the classes of an explanation stand.
type standings [classes]standing

// classOf is the class of one of an explanation's groups.
func (e *explanation) classOf(g *group) int {
	switch {
	case g == e.v.group:
		return volts
	case g == e.i:
		return amps
	case g == e.pf:
		return factors
	case e.pt != nil && g.of[0] == e.pt, e.qt != nil && g.of[0] == e.qt:
		return totals
	}
	return powers
}

// stand weighs the ways in which the classes can stand, all together: what
// registers are left over between them, and how alike they are.
func (l *library) stand(e *explanation) standings {
	var out standings
	if e.i.float() {
		for c := range out {
			out[c] = standing{true, e.i.order, 1}
		}
		return out
	}
	pair := e.orderPair()
	ways := l.waysOf(e, pair)
	of := e.byClass()
	var longs [classes][2]float64 // by class and order, what is long
	var all float64
	for _, w := range ways {
		all += w.weight
		for c := range classes {
			if w.long>>c&1 == 1 {
				longs[c][w.order] += w.weight
			}
		}
	}
	for c := range out {
		if all > 0 {
			longs[c][0], longs[c][1] = longs[c][0]/all, longs[c][1]/all
		}
		out[c] = choose(of[c], c, pair, longs[c][0], longs[c][1])
	}
	return out
}

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
	best := all[0].log
	for _, w := range l.ways(with.byClass(), classes, pair) {
		w.weight = math.Exp(w.log + e.gave("chosen") - best)
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

// choose takes the standing that reads right most probably. What is short reads
// long values as well, as long as they are small.
func choose(of []*group, class int, pair [2]regmap.Order, first, second float64) standing {
	o, long := pair[0], first
	if second > first {
		o, long = pair[1], second
	}
	most, exchanged, fixed, signed := 0., false, false, class > amps
	gaps := 0.5 // the probability that what would be a high half is a gap and stays one
	for _, g := range of {
		switch {
		case signed:
			gaps = 0 // below zero the high half is none
		case len(g.of) > 1 && g.stride == 2:
			gaps = 0.9 // as after every channel
		}
		most = math.Max(most, g.most())
		exchanged = exchanged || g.exchanged()
		fixed = fixed || g.size() == 2
	}
	if fixed {
		return standing{true, o, long}
	}
	short := 1 - first - second
	alike := readAlike(most, signed)
	switch {
	case class == volts && most < math.MaxUint16/voltsGrow:
		alike = 0.99
	case class == amps && short < 1: // nobody makes a register that soon runs over
		fit := short*alike + first + second
		short, first, second, long = short*alike/fit, first/fit, second/fit, long/fit
	}
	asShort, asLong := short+alike*(first+second), long+gaps*short
	if !signed { // small values read alike in both orders, where gaps stay zero
		asLong += 0.8 * alike * math.Min(first, second)
	}
	if asShort > asLong && long < 0.97 && !exchanged {
		return standing{false, regmap.ABCD, asShort}
	}
	return standing{true, o, asLong}
}

// voltsGrow is how much higher a live voltage may ever be. Our choice, no source.
const voltsGrow = 1.3

// readAlike is the probability that a value stays small enough to be read short,
// by how far it may still grow. Our choice, no source.
func readAlike(most float64, signed bool) float64 {
	room := math.MaxUint16 / most
	if signed {
		room /= 2
	}
	switch {
	case room > 10:
		return 0.99
	case room > 4:
		return 0.97
	case room > 2:
		return 0.8
	case room > 1.5:
		return 0.6
	}
	return 0.35
}

// byClass lists the groups of each class.
func (e *explanation) byClass() [classes][]*group {
	var of [classes][]*group
	for _, p := range e.parts() {
		c := e.classOf(p.group)
		of[c] = append(of[c], p.group)
	}
	return of
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

// point makes a map's point of one series of a part.
func (st standing) point(p part, s *series, ten int) regmap.Point {
	out := regmap.Point{Table: s.block.Table, Address: s.at, Count: s.size(), Type: s.typ, Order: regmap.ABCD,
		Scale: math.Pow10(ten), Factor: 1, ExponentAt: -1}
	below := p.signed
	switch {
	case s.float():
		out.Order = s.order
	case s.typ == regmap.S32:
		out.Order = s.order
		if !below {
			out.Type = regmap.U32
		}
	case st.long && extends(p.group, st.order):
		out.Count, out.Order, out.Type = 2, st.order, regmap.S32
		if !below {
			out.Type = regmap.U32
		}
		if highFirst(st.order) {
			out.Address--
		}
	case below && !(p.typ == regmap.U16 && p.most() > math.MaxInt16) || s.typ == regmap.S16:
		out.Type = regmap.S16
	default:
		out.Type = regmap.U16
	}
	return out
}
