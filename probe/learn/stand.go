package learn

import (
	"math"

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
