package learn

import (
	"math"
	"slices"

	"legwork/probe/regmap"
)

// overlap reports groups that share registers.
func overlap(a, b *group) bool {
	for _, s := range a.of {
		for _, t := range b.of {
			if a.table == b.table && s.at < t.at+t.size() && t.at < s.at+s.size() {
				return true
			}
		}
	}
	return false
}

// equal reports groups that hold the same numbers.
func equal(a, b *group) bool {
	for k, s := range a.of {
		for r, x := range s.x {
			if math.Abs(x-b.of[k].x[r]) > 1e-6*math.Abs(x) {
				return false
			}
		}
	}
	return true
}

// twins reports a group whose first two channels are the same number, read at
// one instant or at two.
func twins(g *group) bool {
	if len(g.of) < 2 {
		return false
	}
	off, size := 0., 0.
	for r, x := range g.of[0].x {
		off += g.of[1].x[r] - x
		size += math.Abs(x)
	}
	return math.Abs(off) < 0.0008*size+1.1*g.of[0].step*float64(len(g.of[0].x))
}

// unrest is the mean over the channels.
func (g *group) unrest() float64 {
	sum := 0.
	for _, s := range g.of {
		sum += unrest(s.x) / float64(len(g.of))
	}
	return sum
}

// long reports a group that takes two registers a value, or may.
func (g *group) long() bool {
	return g.size() == 2 || g.exchanged() || extends(g, regmap.ABCD) || extends(g, regmap.CDAB)
}

// group is one quantity of all channels: series of one form, one stride apart.
type group struct {
	form
	table  regmap.Table
	at     int
	stride int
	of     []*series // a channel each
}

// last is the address after the last channel's.
func (g *group) last() int { return g.of[len(g.of)-1].at + g.size() }

func (g *group) moves() bool {
	return slices.ContainsFunc(g.of, (*series).moves)
}

func (g *group) most() float64 {
	most := 0.
	for _, s := range g.of {
		most = math.Max(most, s.most())
	}
	return most
}

func (g *group) halves() float64 {
	sum := 0.
	if g.typ == regmap.S32 {
		for _, s := range g.of {
			sum += s.halves()
		}
	}
	return sum
}

// wild reports a group with a channel that is anywhere.
func (g *group) wild() bool { return slices.ContainsFunc(g.of, (*series).wild) }

// short reports a 32-bit group all of which a 16-bit one reads as well.
func (g *group) short() bool {
	if g.typ != regmap.S32 {
		return false
	}
	plain, signed := true, true
	for _, s := range g.of {
		plain = plain && s.same && s.low >= 0
		signed = signed && s.same && s.low >= -32768 && s.high < 32768
	}
	return plain || signed
}

// gather makes the group that begins at a place, or nil.
func (l *library) gather(f form, from place, stride, n int) *group {
	g := &group{form: f, table: from.table, at: from.at, stride: stride}
	for k := range n {
		s := l.at(f, place{from.table, from.at + k*stride})
		if s == nil {
			return nil
		}
		g.of = append(g.of, s)
	}
	below := slices.ContainsFunc(g.of, func(s *series) bool { return s.low < 0 })
	if g.short() || (f.typ == regmap.S16 || f.typ == swappedS16) && !below {
		return nil
	}
	return g
}

// byQuantity is the widest stride of a layout where the channels of one quantity
// stand side by side.
const byQuantity = 8

func inside(s *series, g *group) bool {
	for _, t := range g.of {
		if s.at < t.at+t.size() && t.at < s.at+s.size() {
			return true
		}
	}
	return false
}

// meanFollows reports that the register after a group, or after slots that are
// empty, is its mean.
func (l *library) meanFollows(g *group) bool { return l.meanOf(g) != nil }

// meanOf is the mean that follows a group; nil where there is none.
func (l *library) meanOf(g *group) *series {
	n := len(g.of)
	if n < 2 || g.stride > byQuantity {
		return nil
	}
	s := l.at(g.form, place{g.table, g.at + n*g.stride})
	if n == 2 && s != nil && s.zero() {
		s = l.at(g.form, place{g.table, g.at + 3*g.stride})
	}
	if s == nil || !s.moves() {
		return nil
	}
	live := 0.
	for _, t := range g.of {
		if !t.zero() {
			live++
		}
	}
	unlike := false
	for r := range s.x {
		mean := 0.
		for _, t := range g.of {
			mean += t.x[r] / live
		}
		if math.Abs(s.x[r]-mean) > 0.6*s.step+1e-5*mean {
			return nil
		}
		unlike = unlike || math.Abs(g.of[0].x[r]-mean) > 3*s.step+3e-4*mean
	}
	if !unlike {
		return nil
	}
	return s
}

// endsInMean reports a group of which the last is the mean of the others and of
// what stands before them: it begins one channel late.
func (l *library) endsInMean(g *group) bool {
	first := l.at(g.form, place{g.table, g.at - g.stride})
	if first == nil || g.stride > byQuantity {
		return false
	}
	whole := *g
	whole.at -= g.stride
	whole.of = append([]*series{first}, g.of[:len(g.of)-1]...)
	return l.meanFollows(&whole)
}

// elsewhere reports groups that stand in different parts of a meter's registers,
// or in different forms: what is equal there is a copy.
func (g *group) elsewhere(other *group) bool {
	return g.table != other.table || g.size() != other.size() || g.at-other.at > 30 || other.at-g.at > 30
}

// covers reports groups of the same registers, whole or in part; two 32-bit ones
// that are shifted against each other are not.
func (g *group) covers(other *group) bool {
	return g == other || g.table == other.table && g.stride == other.stride && inside(g.of[0], alone(other.of[0])) &&
		(g.size() == 1 || other.size() == 1 || g.at == other.at)
}

// alone makes a group of one series.
func alone(s *series) *group {
	if s == nil {
		return nil
	}
	return &group{form: s.form, table: s.block.Table, at: s.at, of: []*series{s}}
}

// allBelow reports values none of which was ever above zero: what is always set
// beside them need not be a sign.
func (g *group) allBelow() bool {
	return !slices.ContainsFunc(g.of, func(s *series) bool { return s.high > 0 })
}

func (g *group) below() bool {
	return slices.ContainsFunc(g.of, func(s *series) bool { return s.low < 0 })
}

func extendsEither(g *group) bool {
	return slices.ContainsFunc(orders[:], func(o regmap.Order) bool { return extends(g, o) })
}

// extends reports that a group of short integers has the high halves of an
// order beside it.
func extends(g *group, o regmap.Order) bool {
	if bytesExchanged(o) != g.exchanged() || g.size() == 2 || len(g.of) > 1 && g.stride < 2 {
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

// context is what the forms of one meter can have in common: floats of one
// order, or 16-bit integers beside 32-bit ones of one order.
type context []form

func contexts() []context {
	short := context{{regmap.U16, regmap.ABCD}, {regmap.S16, regmap.ABCD}}
	all := []context{short}
	for _, o := range orders {
		c := append(context{{regmap.S32, o}}, short...)
		if bytesExchanged(o) {
			c = append(c, form{swappedU16, regmap.BADC}, form{swappedS16, regmap.BADC})
		}
		all = append(all, c, context{{regmap.F32, o}})
	}
	return all
}

// own reports a form that the context doesn't share with others.
func (c context) own(f form) bool {
	return len(c) <= 2 || f.typ != regmap.U16 && f.typ != regmap.S16
}

// zeroBeside reports values below zero beside which a register is always zero, on
// the same side of each: rather the low halves of values above zero.
func (g *group) zeroBeside() bool {
	if !g.below() || g.size() == 2 || len(g.of) > 1 && g.stride < 2 {
		return false
	}
	on := func(by int) bool {
		return !slices.ContainsFunc(g.of, func(s *series) bool { return !s.empty(s.at+by, s.at+by+1) })
	}
	return on(-1) || on(1)
}
