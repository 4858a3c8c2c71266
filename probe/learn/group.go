package learn

import (
	"cmp"
	"math"
	"slices"

	"legwork/probe/reading"
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

// at is a series in a form; where the signed 16-bit one reads as the unsigned,
// that one.
func (l *library) at(f form, p place) *series {
	if s := l.shelves[f][p]; s != nil {
		return s
	}
	switch f.typ {
	case regmap.S16:
		return l.shelves[form{regmap.U16, regmap.ABCD}][p]
	case swappedS16:
		return l.shelves[form{swappedU16, regmap.BADC}][p]
	}
	return nil
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

// places lists where a form can be read, in order.
func (l *library) places(f form) []place {
	if all, is := l.sorted[f]; is {
		return all
	}
	var all []place
	for p := range l.shelves[f] {
		all = append(all, p)
	}
	if unsigned := (form{swappedU16, regmap.BADC}); f.typ == swappedS16 { // a group may begin with a value above zero
		for p := range l.shelves[unsigned] {
			all = append(all, p)
		}
	}
	if f.typ == regmap.S16 {
		all = slices.Clone(l.places(form{regmap.U16, regmap.ABCD}))
	}
	slices.SortFunc(all, func(a, b place) int {
		return cmp.Or(cmp.Compare(a.table, b.table), cmp.Compare(a.at, b.at))
	})
	all = slices.Compact(all)
	l.sorted[f] = all
	return all
}

// byQuantity is the widest stride of a layout where the channels of one quantity
// stand side by side.
const byQuantity = 8

// beside lists the groups of a context that may belong to the same channels as v.
func (l *library) beside(v *group, c context, want func(*group) bool) []*group {
	var all []*group
	for _, f := range c {
		for _, p := range l.places(f) {
			if p.table != v.table || !near(v, p.at) {
				continue
			}
			for _, stride := range strides(v, f) {
				if g := l.gather(f, p, stride, len(v.of)); g != nil && (g.moves() || l.stands(g)) && !g.wild() && want(g) {
					all = append(all, g)
				}
			}
		}
	}
	return all
}

// stands reports a group that doesn't move, and needn't: what was measured is
// there, and a step of its register hides what changes.
func (l *library) stands(g *group) bool {
	if len(l.measured) == 0 || g.most() == 0 {
		return false
	}
	for _, m := range l.measured {
		k := m.Point.Index - 1
		if k < 0 || k >= len(g.of) || m.Value == 0 || m.Point.Quantity == reading.Voltage {
			continue
		}
		x := math.Abs(g.of[k].mid)
		if ten := math.Log10(x / m.Value); x > 0 && g.of[k].coarse(x) > 0.0005 && math.Abs(ten-math.Round(ten)) < 0.04 {
			return true
		}
	}
	return false
}

// farthest is how many registers apart two quantities of a channel may stand.
const farthest = 130

func near(v *group, at int) bool {
	if v.stride > byQuantity {
		return at > v.at-v.stride && at < v.at+v.stride
	}
	return at > v.at-farthest && at < v.at+farthest
}

// strides are those that a group of a form can have beside v.
func strides(v *group, f form) []int {
	if len(v.of) == 1 {
		return []int{0}
	}
	if v.stride > byQuantity {
		return []int{v.stride}
	}
	var out []int
	for _, s := range []int{v.stride, f.size(), 2 * v.stride} {
		if s >= f.size() && s <= byQuantity && !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	return out
}
