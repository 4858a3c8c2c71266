package learn

import (
	"math"
	"slices"

	"legwork/probe/regmap"
)

// standing says how the short integers of an explanation stand in registers:
// as they are, or as the low half of 32-bit ones. Small values read alike in
// one order at one address and in another at the next.
type standing struct {
	long        bool
	order       regmap.Order
	probability float64
}

// stand weighs the ways in which the powers can stand, which stand alike.
func (l *library) stand(e *explanation) standing {
	for _, g := range []*group{e.p, e.s, e.q, alone(e.pt), alone(e.qt)} {
		if g != nil && g.typ == regmap.S32 {
			return standing{true, g.order, 1}
		}
	}
	for _, g := range []*group{e.s, e.q} {
		if g != nil && !e.extendsEither(g) {
			return standing{false, regmap.ABCD, 0.98} // there is a high half by chance, or of another's
		}
	}
	return l.standOf(e, e.p)
}

// standBeside is how another group stands: as the powers do if it can.
func (l *library) standBeside(e *explanation, powers standing, g *group) standing {
	if g.size() == 2 || powers.long && extends(g, powers.order) || !e.extendsEither(g) {
		return powers
	}
	return l.standOf(e, g)
}

// standOf weighs the ways in which one group can stand.
func (l *library) standOf(e *explanation, g *group) standing {
	if g.float() {
		return standing{true, g.order, 1}
	}
	first, second := regmap.ABCD, regmap.CDAB
	if g.exchanged() {
		first, second = regmap.BADC, regmap.DCBA
	}
	short := 0.985 // read alike as long as values are small
	if e.v.most() > 40000 || e.i.most() > 30000 || e.p.most() > 15000 {
		short = 0.6
	}
	isFirst, isSecond := extends(g, first), extends(g, second)
	mixed := !e.extendsEither(e.v.group) || !e.extendsEither(e.i) // only the powers are long
	x := l.firstRather(e, g, first, second)
	switch {
	case !isFirst && !isSecond && !g.exchanged():
		return standing{false, regmap.ABCD, 1}
	case isFirst && !isSecond:
		return standing{true, first, 0.98}
	case isSecond && !isFirst && (mixed && len(g.of) > 1 || g.exchanged()):
		return standing{true, second, 0.98}
	case isFirst && x > 2.5:
		return standing{true, first, 0.98}
	case isFirst && isSecond && x < -2.5 && (mixed || g.exchanged()):
		return standing{true, second, 0.98}
	case !g.exchanged() && (short > 0.9 || !isFirst):
		return standing{false, regmap.ABCD, short}
	case x > 0:
		return standing{true, first, 1 / (1 + math.Exp(-x))}
	}
	return standing{true, second, 1 / (1 + math.Exp(x))}
}

func (e *explanation) extendsEither(g *group) bool {
	return slices.ContainsFunc(orders[:], func(o regmap.Order) bool { return extends(g, o) })
}

// firstRather weighs, as a logarithm, that the high half stands first: kinds of
// power stand alike, a block begins and ends with a whole value, and counters
// have high halves of their own.
func (l *library) firstRather(e *explanation, of *group, first, second regmap.Order) float64 {
	x := math.Max(-2, math.Min(2, l.counters(first)-l.counters(second)))
	if !e.extendsEither(e.v.group) && extends(of, first) {
		x++ // else there would be a gap before it
	}
	if of != e.p {
		return x + edges(of.of[0])
	}
	for _, g := range []*group{e.s, e.q, alone(e.pt), alone(e.qt)} {
		if g != nil {
			x += 3 * (truth(extends(g, first)) - truth(extends(g, second)))
		}
	}
	x += 3 * (truth(e.allExtend(first)) - truth(e.allExtend(second)))
	return x + edges(of.of[0])
}

// edges weighs how a low half stands to the edges of its block. Where every
// other word from the edge on is only a sign, values begin, or end, there.
func edges(low *series) float64 {
	b := low.block
	offset, n := low.at-b.At, len(b.Rounds[0])
	sign := func(i int) bool {
		return !slices.ContainsFunc(b.Rounds, func(words []uint16) bool { return words[i] != 0 && words[i] != 0xFFFF })
	}
	start, end := true, true
	for i := range n {
		switch {
		case i%2 == offset%2:
		case i < offset:
			start = start && sign(i)
		default:
			end = end && sign(i)
		}
	}
	x := 1 + 2*truth(start)
	if offset%2 == 0 {
		x = -x
	}
	switch {
	case end && (n-1-offset)%2 == 0:
		x += 2
	case end:
		x -= 2
	}
	return x
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
