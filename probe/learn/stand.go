package learn

import (
	"cmp"
	"math"
	"slices"

	"legwork/probe/regmap"
)

// Small integers stand alike as 16-bit values, as the low halves of 32-bit ones
// with the high half before them, and of such with the high half behind. All
// quantities of a meter are weighed together for what they are: they share an
// order, fill their block without odd gaps, and don't lie on each other.

// class is a sort of quantity whose values have one width.
type class uint8

const (
	voltages class = 1 << iota
	currents
	powers
	totals
	factors
	classes = 5
)

// part is what of a view is written into the map: a group, or one series.
type part struct {
	*group
	class
}

// signed reports that a part can be below zero by what it is.
func (p part) signed() bool { return p.class&(powers|totals|factors) != 0 }

// parts lists what an explanation has found.
func (e *explanation) parts() []part {
	all := []part{{e.v.group, voltages}, {e.i, currents}, {e.p, powers}}
	for _, p := range []part{{e.s, powers}, {e.q, powers}, {e.pf, factors}, {alone(e.pt), totals}, {alone(e.qt), totals}} {
		if p.group != nil {
			all = append(all, p)
		}
	}
	return all
}

// doubtful reports a part that may be something else, and then says nothing of
// how the others stand.
func (e *explanation) doubtful(p part) bool {
	const least = 2
	switch {
	case p.group == e.q:
		return e.ofReactive < likely
	case p.group == e.s:
		return e.given("S = V I") < least
	case p.group == e.pf:
		return e.given("pf = P / S") < least
	case p.class == totals:
		return e.given("total power") < least
	}
	return false
}

// standing is one way in which an explanation can stand in registers: the
// classes that are 32 bits wide, and the order that they share.
type standing struct {
	order  regmap.Order
	wide   class
	spaced bool // every value is followed by as many registers that hold nothing
	weight float64
}

// standings are all ways, the likeliest first, with weights that add up to one.
type standings []standing

// trust is how far the weights of standings are believed: they share assumptions
// on how meters are set out. Set by the bench of layouts.
const trust = 0.8

// How probable it is that just these classes are wide. Our choice, no source.
var widths = map[class]float64{
	0: 0.3, voltages | currents | powers | totals | factors: 0.35, powers | totals: 0.15, totals: 0.06,
	currents: 0.06, currents | totals: 0.03,
}

// stand weighs the ways in which an explanation can stand.
func (l *library) stand(e *explanation) standings {
	parts := slices.DeleteFunc(e.parts(), e.doubtful)
	for _, p := range parts[:2] {
		if mean := l.meanOf(p.group); mean != nil {
			parts = append(parts, part{alone(mean), p.class})
		}
	}
	first, second := regmap.ABCD, regmap.CDAB
	if slices.ContainsFunc(parts, func(p part) bool { return p.exchanged() }) {
		first, second = regmap.BADC, regmap.DCBA
	}
	var all standings
	slots := emptySlots(parts)
	for _, order := range []regmap.Order{first, second} {
		grown := math.Max(-2, math.Min(2, l.counters(order)))
		for long := range class(1 << classes) {
			for _, spaced := range []bool{false, true} {
				st := standing{order, long, spaced, grown}
				if w, ok := st.weigh(parts, slots); ok {
					st.weight += w
					all = append(all, st)
				}
			}
		}
	}
	if len(all) == 0 {
		return standings{{order: first, weight: 1}} // what was joined contradicts itself
	}
	slices.SortStableFunc(all, func(a, b standing) int { return cmp.Compare(b.weight, a.weight) })
	sum := 0.
	for i := range all {
		sum += math.Exp(trust * (all[i].weight - all[0].weight))
	}
	for i := len(all) - 1; i >= 0; i-- {
		all[i].weight = math.Exp(trust*(all[i].weight-all[0].weight)) / sum
	}
	return all
}

// weigh is the logarithm of how probable a way is; not ok where it can't be.
func (st standing) weigh(parts []part, slots map[place]bool) (w float64, ok bool) {
	there := present(parts)
	if st.wide&^there != 0 {
		return 0, false
	}
	prior := 0.
	for of, p := range widths { // of classes that aren't there, any width
		if of&there == st.wide {
			prior += p
		}
	}
	w = math.Log(prior + 0.004)
	if !highFirst(st.order) {
		w -= 0.4
	}
	if st.spaced {
		w -= 2.5
	}
	if st.wide&powers != 0 && totals&there&^st.wide != 0 {
		w -= 3 // a sum in fewer bits
	}
	var cells []span
	record := inRecord(parts)
	for i, p := range parts {
		if size := st.spans(i, p)[0]; !record && len(p.of) > 1 && p.stride <= byQuantity && p.stride != size.next-size.from {
			w -= 4 // registers are left out between the channels
		}
		x, ok := st.weighPart(p, slots)
		if !ok {
			return 0, false
		}
		w += x
		cells = append(cells, st.spans(i, p)...)
	}
	return w + gaps(cells, slots, st.wide == there), true
}

// weighPart is the same for one of its parts.
func (st standing) weighPart(p part, slots map[place]bool) (w float64, ok bool) {
	wide := st.wide&p.class != 0
	size := p.size()
	if p.float() || wide && extends(p.group, st.order) {
		size = 2
	}
	switch {
	case st.spaced && len(p.of) > 1 && p.stride < 2*size:
		return 0, false
	case p.float():
		return 0, true
	case p.typ == regmap.S32:
		return 0, wide && p.order == st.order
	case wide && !extends(p.group, st.order):
		return -8, true // another form than its like
	case wide:
		return 0, true
	case p.exchanged():
		return 0, false
	case st.spaced, !extendsEither(p.group),
		len(p.of) == 1 && (slots[place{p.table, p.at - 1}] || slots[place{p.table, p.at + 1}]):
		return 0, true
	case p.below() && !p.zeroBeside() && !p.allBelow():
		return -12, true // beside a value below zero stands a sign, and none beside others
	case p.signed() && p.most() > math.MaxInt16:
		return -8, true // 16 bits for a power have a sign
	}
	return -1.5, true
}

// emptySlots lists the registers after fewer than three channels where a meter
// for three has the others.
func emptySlots(parts []part) map[place]bool {
	slots := map[place]bool{}
	for _, p := range parts {
		if p.class == totals || p.stride > byQuantity {
			continue
		}
		steps := []int{p.stride}
		if len(p.of) == 1 {
			steps = []int{p.size()}
			if extendsEither(p.group) {
				steps = []int{1, 2}
			}
		}
		for _, step := range steps {
			var free []place
			for at := p.at + len(p.of)*step; at < p.at+3*step && p.of[0].empty(at, at+p.size()); at += step {
				for i := range p.size() {
					free = append(free, place{p.table, at + i})
				}
			}
			if len(free) == (3-len(p.of))*p.size() {
				for _, one := range free {
					slots[one] = true
				}
			}
		}
	}
	return slots
}

// inRecord reports quantities that stand channel by channel.
func inRecord(parts []part) bool {
	return parts[0].stride > 2 && !slices.ContainsFunc(parts, func(p part) bool {
		return len(p.of) > 1 && p.stride != parts[0].stride
	})
}

func present(parts []part) class {
	var c class
	for _, p := range parts {
		c |= p.class
	}
	return c
}

// span is what one value takes.
type span struct {
	part       int
	of         *series
	from, next int
}

func (st standing) spans(part int, p part) []span {
	var all []span
	for _, s := range p.of {
		at, size := s.at, s.size()
		if st.wide&p.class != 0 && extends(p.group, st.order) {
			size = 2
			if highFirst(st.order) {
				at--
			}
		}
		if st.spaced {
			size *= 2
		}
		all = append(all, span{part, s, at, at + size})
	}
	return all
}

// gaps weighs what lies between values. Where all are wide, an even number of
// registers does; and a single one that is always zero is rather part of a value.
// What repeats from channel to channel counts once.
func gaps(cells []span, slots map[place]bool, allWide bool) float64 {
	slices.SortStableFunc(cells, func(a, b span) int {
		return cmp.Or(cmp.Compare(a.of.block.Table, b.of.block.Table), cmp.Compare(a.from, b.from))
	})
	type pair struct{ before, after, gap int }
	seen, left := map[pair]bool{}, map[int]bool{}
	w := 0.
	odd := func(before, after int, s *series, from, to int) {
		one := pair{before, after, to - from}
		if from >= to || before == after || seen[one] || (to-from)%2 == 0 ||
			slots[place{s.block.Table, to - 1}] && !slots[place{s.block.Table, to}] {
			return
		}
		seen[one] = true
		cost := 0.7
		if allWide {
			cost += 1.8
		}
		if empty := s.empty(from, to); empty && left[to-from] {
			cost = 0.5 // as between others
		} else if empty {
			cost += 1.2
			left[to-from] = true
		}
		w -= cost * math.Min(1, 6/float64(to-from)) // much may stand in a wide one
	}
	on := map[int]bool{}
	for i, c := range cells {
		table := c.of.block.Table
		if !on[c.part] && (slots[place{table, c.from}] || slots[place{table, c.next - 1}]) {
			on[c.part] = true
			w -= 2 // where there should be a channel that the place has not
		}
		end := c.of.block.At + len(c.of.block.Rounds[0])
		if i == 0 || cells[i-1].of.block != c.of.block {
			odd(-1, c.part, c.of, c.of.block.At, c.from)
		} else if before := cells[i-1]; before.next > c.from {
			w -= 20
		} else {
			odd(before.part, c.part, c.of, before.next, c.from)
		}
		if i == len(cells)-1 || cells[i+1].of.block != c.of.block {
			odd(c.part, -1, c.of, c.next, end)
		}
	}
	return w
}

// as is how a part is written down: so that it most probably reads right
// whatever the load, with that probability.
func (all standings) as(p part) (long bool, order regmap.Order, right float64) {
	if p.size() == 2 {
		return true, p.order, 1
	}
	fits := p.fits()
	short, first, second := 0., 0., 0.
	for _, s := range all {
		switch long := s.wide&p.class != 0 && extends(p.group, s.order); {
		case !long:
			short += s.weight
		case highFirst(s.order):
			first += s.weight
		default:
			second += s.weight
		}
	}
	right = short + (first+second)*fits
	if p.exchanged() { // it has a high half; the worst is not to know which
		long, order, right = true, regmap.DCBA, 0
		if extends(p.group, regmap.BADC) {
			order = regmap.BADC
		}
	}
	const between = 0.3 // a neighbour's sign may turn
	for _, s := range all {
		if s.wide&p.class == 0 || !extends(p.group, s.order) {
			continue
		}
		alike, unlike := first, second
		if !highFirst(s.order) {
			alike, unlike = second, first
		}
		if x := alike + between*unlike + 0.6*short; x > right+1e-9 {
			long, order, right = true, s.order, x
		}
	}
	return long, order, right
}

// fits is how probable it is that values which fit 16 bits now always will.
// Voltages hardly change; a load may become many times what it is. Our choice.
func (p part) fits() float64 {
	limit := 65535.
	if p.signed() {
		limit = 32767
	}
	room := limit / p.most()
	switch {
	case p.class == voltages && room > 1.1, p.class == factors, room > 8:
		return 0.99
	case room > 3:
		return 0.97
	case room > 1.6:
		return 0.9
	}
	return 0.4
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
func (all standings) point(p part, s *series, ten int) regmap.Point {
	long, order, _ := all.as(p)
	out := regmap.Point{Table: s.block.Table, Address: s.at, Count: s.size(), Type: s.typ, Order: regmap.ABCD,
		Scale: math.Pow10(ten), Factor: 1, ExponentAt: -1}
	switch {
	case s.float():
		out.Order = s.order
	case long && p.signed():
		out.Count, out.Order, out.Type = 2, order, regmap.S32
	case long:
		out.Count, out.Order, out.Type = 2, order, regmap.U32
	case p.below() || p.signed() && p.most() <= math.MaxInt16:
		out.Type = regmap.S16
	default:
		out.Type = regmap.U16
	}
	if long && s.size() == 1 && highFirst(order) {
		out.Address--
	}
	return out
}
