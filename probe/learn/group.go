package learn

import (
	"math"
	"slices"

	"legwork/probe/regmap"
)

// group is one quantity of all channels: series of one form, one stride apart.
type group struct {
	form
	table  regmap.Table
	at     int
	stride int
	of     []*series // a channel each
}

// with is the group with one channel more.
func (g *group) with(s *series) *group {
	out := *g
	out.of = append(slices.Clone(g.of), s)
	return &out
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
func (g *group) wild() bool {
	floor := 0.02 * g.most() // beside which a power near nothing isn't
	return slices.ContainsFunc(g.of, func(s *series) bool { return s.most() > floor && s.wild() })
}

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

// long reports a group that takes two registers a value, or may.
func (g *group) long() bool {
	return g.size() == 2 || g.exchanged() || extends(g, regmap.ABCD) || extends(g, regmap.CDAB)
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
			if s.x[r] < 0 && s.x[r] > -nearLimit && high != 0xFFFF {
				return false
			}
		}
	}
	return true
}

// unrest is the mean over the channels.
func (g *group) unrest() float64 {
	sum := 0.
	for _, s := range g.of {
		sum += unrest(s.x) / float64(len(g.of))
	}
	return sum
}

// alone makes a group of one series.
func alone(s *series) *group {
	if s == nil {
		return nil
	}
	return &group{form: s.form, table: s.block.Table, at: s.at, of: []*series{s}}
}

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

// sameNumbers reports that some value of a group is one of another's, in every round,
// and moves: quantities of two kinds never do so.
func sameNumbers(a, b *group) bool {
	for _, s := range a.of {
		for _, t := range b.of {
			if s.repeats(t) {
				return true
			}
		}
	}
	return false
}

// repeats reports two channels that move and are the same number in every round.
func (g *group) repeats() bool {
	for k, s := range g.of {
		for _, t := range g.of[k+1:] {
			if s.repeats(t) {
				return true
			}
		}
	}
	return false
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

// alongside reports groups that may be of one kind and step: a 32-bit one that
// is small is known by its low halves only.
func alongside(a, b *group) bool {
	return a.stride == b.stride && a.float() == b.float() && a.exchanged() == b.exchanged() && ordered(a, b) &&
		(a.size() == b.size() || a.stride != 1)
}

// covers reports groups of the same registers, whole or in part.
func (g *group) covers(other *group) bool {
	return g == other || g.table == other.table && g.stride == other.stride && inside(g.of[0], alone(other.of[0]))
}

// turned reports 32-bit groups that share registers and take another half for the high
// one: alike as long as that doesn't change.
func (g *group) turned(other *group) bool {
	return g.typ == regmap.S32 && other.typ == regmap.S32 && g.order != other.order && overlap(g, other)
}

// elsewhere reports groups that stand in different parts of a meter's registers,
// or in different forms: what is equal there is a copy.
func (g *group) elsewhere(other *group) bool {
	return g.table != other.table || g.size() != other.size() || g.at-other.at > 30 || other.at-g.at > 30
}

func isCurrent(v, g *group) bool {
	if overlap(v, g) {
		return false
	}
	for _, s := range g.of {
		if s.low < 0 || g.float() && s.high > 2e4 {
			return false
		}
	}
	return !g.float() || g.most() > 0.005
}

func isPower(v, g *group) bool {
	return !overlap(v, g) && (!g.float() || g.most() < 1e8) && !slices.ContainsFunc(g.of, (*series).belowZero)
}
