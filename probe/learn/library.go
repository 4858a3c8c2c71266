package learn

import (
	"cmp"
	"slices"

	"legwork/probe/learn/image"
	"legwork/probe/regmap"
)

// shelf holds the series of all places in one form, by table and address.
type shelf [2][]*series

// at is the series of a place, or nil.
func (s *shelf) at(p place) *series {
	if row := s[p.table]; 0 <= p.at && p.at < len(row) {
		return row[p.at]
	}
	return nil
}

// put stands a series there, or none.
func (s *shelf) put(p place, x *series) {
	for row := &s[p.table]; len(*row) <= p.at; {
		*row = append(*row, nil)
	}
	s[p.table][p.at] = x
}

// places lists where something stands.
func (s *shelf) places() (all []place) {
	for t, row := range s {
		for at, x := range row {
			if x != nil {
				all = append(all, place{regmap.Table(t), at})
			}
		}
	}
	return all
}

type place struct {
	table regmap.Table
	at    int
}

// library holds them in all forms.
type library struct {
	im      *image.Image
	rounds  int
	shelves map[form]*shelf
	sorted  map[form][]place
	listed  map[form][]*series // those of the form itself, in order

	measured []Measured

	looks map[int]wordLooks   // of blocks, by their number
	loose map[spot][2]float64 // how likely they are with high halves first, and last
}

// word gives the words of a place, a round each; nil where it wasn't read, or is
// half of a float.
func (l *library) word(t regmap.Table, at int) []float64 {
	if s := l.shelves[form{regmap.U16, regmap.ABCD}].at(place{t, at}); s != nil {
		return s.x
	}
	return nil
}

// at is a series in a form; where the signed 16-bit one reads as the unsigned,
// that one.
func (l *library) at(f form, p place) *series {
	own, unsigned := l.shelf(f)
	return cmp.Or(own.at(p), unsigned.at(p))
}

// shelf is that of a form, and of a signed 16-bit one that of the unsigned.
func (l *library) shelf(f form) (own, unsigned *shelf) {
	switch own = l.shelves[f]; f.typ {
	case regmap.S16:
		return own, l.shelves[form{regmap.U16, regmap.ABCD}]
	case swappedS16:
		return own, l.shelves[form{swappedU16, regmap.BADC}]
	}
	return own, own
}

// places lists where a form can be read, in order.
func (l *library) places(f form) []place {
	if all, is := l.sorted[f]; is {
		return all
	}
	all := l.shelves[f].places()
	l.listed[f] = nil
	for _, p := range all {
		l.listed[f] = append(l.listed[f], l.shelves[f].at(p))
	}
	switch f.typ {
	case swappedS16: // a group may begin with a value above zero
		all = append(all, l.shelves[form{swappedU16, regmap.BADC}].places()...)
		slices.SortFunc(all, func(a, b place) int {
			return cmp.Or(cmp.Compare(a.table, b.table), cmp.Compare(a.at, b.at))
		})
		all = slices.Compact(all)
	case regmap.S16:
		all = l.places(form{regmap.U16, regmap.ABCD})
	}
	l.sorted[f] = all
	return all
}

// gather makes the group that begins at a place, or nil.
func (l *library) gather(f form, from place, stride, n int) *group {
	var room [3]*series
	of := room[:0]
	own, unsigned := l.shelf(f)
	for k := range n {
		p := place{from.table, from.at + k*stride}
		s := cmp.Or(own.at(p), unsigned.at(p))
		if s == nil {
			return nil
		}
		of = append(of, s)
	}
	g := &group{form: f, table: from.table, at: from.at, stride: stride, of: slices.Clone(of)}
	below := slices.ContainsFunc(g.of, func(s *series) bool { return s.low < 0 })
	if g.short() || (f.typ == regmap.S16 || f.typ == swappedS16) && !below {
		return nil
	}
	return g
}

// context is what the forms of one meter can have in common: floats of one order,
// or integers of 16 and 32 bits, with bytes exchanged or not, or both: floats for what is
// measured, which come first, and integers for powers.
type context []form

// mixed reports a context of floats and integers.
func (c context) mixed() bool { return c[0].float() && !c[len(c)-1].float() }

func contexts() []context {
	short := context{{regmap.U16, regmap.ABCD}, {regmap.S16, regmap.ABCD}}
	swapped := context{{swappedU16, regmap.BADC}, {swappedS16, regmap.BADC}}
	plain := slices.Concat(context{{regmap.S32, regmap.ABCD}, {regmap.S32, regmap.CDAB}}, short)
	turned := slices.Concat(context{{regmap.S32, regmap.BADC}, {regmap.S32, regmap.DCBA}}, swapped, short)
	all := []context{plain, turned}
	for _, o := range orders {
		all = append(all, context{{regmap.F32, o}})
	}
	for _, o := range orders {
		halves := short
		if bytesExchanged(o) {
			halves = swapped
		}
		all = append(all, slices.Concat(context{{regmap.F32, o}, {regmap.S32, o}}, halves))
	}
	return all
}

// own reports groups that no other context has.
func (c context) own(v, i, p *group) bool {
	groups := []*group{v, i, p}
	if c.mixed() {
		return !p.float()
	}
	exchanged := slices.ContainsFunc(c, form.exchanged)
	return !exchanged || slices.ContainsFunc(groups, func(g *group) bool { return g.exchanged() })
}

// ordered reports groups whose 32-bit integers are of one order.
func ordered(groups ...*group) bool {
	var o regmap.Order
	for _, g := range groups {
		if g == nil || g.typ != regmap.S32 {
			continue
		}
		if o == "" {
			o = g.order
		}
		if g.order != o {
			return false
		}
	}
	return true
}
