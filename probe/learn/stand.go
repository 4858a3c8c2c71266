package learn

import (
	"math"
	"slices"

	"legwork/probe/regmap"
)

// part is what of a view is written into the map: a group, or one series.
type part struct {
	*group
	signed bool // can be below zero by what it is
}

// parts lists what an explanation has found.
func (e *explanation) parts() []part {
	all := []part{{e.v.group, false}, {e.i, false}, {e.p, true}}
	for _, p := range []part{{e.s, false}, {e.q, true}, {e.pf, true}, {alone(e.pt), true}, {alone(e.qt), true}} {
		if p.group != nil {
			all = append(all, p)
		}
	}
	return all
}

// alone makes a group of one series.
func alone(s *series) *group {
	if s == nil {
		return nil
	}
	return &group{form: s.form, table: s.block.Table, at: s.at, of: []*series{s}}
}

// standing says how the short integers of an explanation stand in registers:
// as they are, or as the low half of 32-bit ones. Small values read alike in
// one order at one address and in another at the next.
type standing struct {
	long        bool
	order       regmap.Order
	probability float64
}

// stand weighs the ways in which the parts can stand. The powers stand alike;
// the others do where they can.
func (l *library) stand(e *explanation) standing {
	if e.i.float() {
		return standing{true, e.i.order, 1}
	}
	for _, p := range e.parts() {
		if p.typ == regmap.S32 {
			return standing{true, p.order, 1}
		}
	}
	first, second := regmap.ABCD, regmap.CDAB
	if e.p.exchanged() {
		first, second = regmap.BADC, regmap.DCBA
	}
	short := 0.985 // read alike as long as values are small
	if e.v.most() > 40000 || e.i.most() > 30000 || e.p.most() > 15000 {
		short = 0.6
	}
	isFirst, isSecond := extends(e.p, first), extends(e.p, second)
	x := l.firstRather(e, first, second)
	switch {
	case !isFirst && !isSecond && !e.p.exchanged():
		return standing{false, regmap.ABCD, 1}
	case isFirst && (!isSecond || x > 3):
		return standing{true, first, 0.98}
	case isSecond && l.counters(second) > 0 && (!isFirst && x < 1 || x < -3):
		return standing{true, second, 0.98}
	case !e.p.exchanged() && short > 0.9:
		return standing{false, regmap.ABCD, short}
	case isFirst && x > 0:
		return standing{true, first, 1 / (1 + math.Exp(-x))}
	}
	return standing{true, second, 1 / (1 + math.Exp(x))}
}

func truth(is bool) float64 {
	if is {
		return 1
	}
	return 0
}

// allExtend reports that all that was found has the high halves of an order.
func (e *explanation) allExtend(o regmap.Order) bool {
	return !slices.ContainsFunc(e.parts(), func(p part) bool { return !extends(p.group, o) })
}

// extends reports that a group of short integers has the high halves of an
// order beside it.
func extends(g *group, o regmap.Order) bool {
	if bytesExchanged(o) != g.exchanged() || len(g.of) > 1 && g.stride < 2 {
		return false
	}
	by := 1
	if highFirst(o) {
		by = -1
	}
	for _, s := range g.of {
		if !s.extended(s.at - s.block.At + by) {
			return false
		}
		for r := range s.x {
			high := s.block.Rounds[r][s.at-s.block.At+by]
			if s.x[r] < 0 && high != 0xFFFF {
				return false
			}
		}
	}
	return true
}

// firstRather weighs, as a logarithm, that the high half stands first: a block
// mostly begins with a value, and counters have high halves of their own.
func (l *library) firstRather(e *explanation, first, second regmap.Order) float64 {
	x := 0.
	low := e.p.of[0]
	for _, g := range []*group{e.s, e.q} {
		if g == nil {
			continue
		}
		x += 3 * (truth(extends(g, first)) - truth(extends(g, second)))
		if g.at < low.at {
			low = g.of[0]
		}
	}
	x += 3 * (truth(e.allExtend(first)) - truth(e.allExtend(second)))
	if e.allExtend(first) || e.allExtend(second) {
		for _, p := range e.parts() {
			if p.at < low.at {
				low = p.of[0]
			}
		}
	}
	offset := low.at - low.block.At // of the low half
	if offset == 1 {
		x += 2.5
	}
	if offset%2 == 1 {
		x++
	} else {
		x--
	}
	return x + math.Max(-2, math.Min(2, l.counters(first)-l.counters(second)))
}

// counters counts what runs up slowly under a high half that stays.
func (l *library) counters(o regmap.Order) float64 {
	n := 0.
	for _, s := range l.shelves[form{regmap.S32, o}] {
		grows := s.low > 65536 && s.moves() && s.high-s.low < 300
		for r := 1; r < len(s.x); r++ {
			step := s.x[r] - s.x[r-1]
			grows = grows && step >= 0 && math.Floor(s.x[r]/65536) == math.Floor(s.x[0]/65536)
		}
		if grows && s.high < 1.3e8 {
			n++
		}
	}
	return n
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
