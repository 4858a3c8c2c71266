package learn

import (
	"math"

	"legwork/probe/regmap"
)

// addPlaces weighs where the groups stand: the quantities of a meter stand near
// each other, in forms that go together. Our choice, no source.
func (e *explanation) addPlaces() {
	near := func(a, b *group) float64 {
		gap := 0
		if a.stride > byQuantity || len(a.of) == 1 {
			gap = max(0, max(b.at-a.at, a.at-b.at)-2)
		} else {
			gap = max(0, b.at-a.last(), a.at-b.last())
		}
		return -0.4 * math.Log(1+float64(gap)/3)
	}
	e.add("distance", near(e.v.group, e.i)+near(e.i, e.p))
	if e.i.at < e.v.at {
		e.add("order", -0.4)
	}
	if e.p.at < e.i.at {
		e.add("order", -1)
	}
	if e.v.form != e.i.form {
		e.add("form", -0.6)
	}
	if e.v.long() && !e.i.long() {
		e.add("form", -1)
	}
	v, i, p := e.v.exchanged(), e.i.exchanged(), e.p.exchanged()
	if v || i || p {
		e.add("exchanged bytes", -1) // seldom met
	}
	switch {
	case v && !(i && p) || p && e.v.typ == regmap.S32:
		e.add("exchanged bytes", -4)
	case i && !p:
		e.add("exchanged bytes", -2)
	}
	if e.p.zeroBeside() {
		e.add("no sign beside", -2.5)
	}
	if e.p.size() < e.i.size() {
		e.add("form", -1)
	}
	if v, i := e.v.group.unrest(), e.i.unrest(); v > 0 && i > 0 {
		e.add("voltages are steadier", math.Max(-3, math.Min(0, math.Log(i/v))))
	}
	e.addSpacing()
}

// addSpacing weighs that the channels of each quantity stand side by side, or one
// record apart: whoever leaves registers free leaves as many after every value.
func (e *explanation) addSpacing() {
	record := e.v.stride == e.i.stride && e.i.stride == e.p.stride
	if len(e.p.of) == 1 || e.v.stride > byQuantity || record && e.v.stride > 4 {
		return
	}
	score := -8.
	for times, x := range []float64{0, -2, -5, -5} {
		all := true
		for _, g := range []*group{e.v.group, e.i, e.p} {
			size := g.stride / (times + 1)
			all = all && g.stride%(times+1) == 0 && (size == g.size() || size == 2 && extendsEither(g))
		}
		if all {
			score = x
			break
		}
	}
	if record {
		score = math.Max(score, -2) // a short record
	}
	e.add("spacing", score)
}

// addOrder weighs that S comes before P where there is room for Q between them:
// then P is first, as good as always. Where all power is active nothing else
// tells them apart.
func (e *explanation) addOrder() {
	if e.s == nil || e.s.at > e.p.at {
		return
	}
	room := e.p.size()
	if len(e.p.of) == 1 || e.p.stride <= byQuantity {
		stride := max(e.p.stride, e.p.size())
		room = 4*stride + 5
		if len(e.p.of) == 1 {
			room = 8*stride + 5 // of which nothing is known
		}
		if e.pt != nil && e.pt.at > e.p.at && e.pt.at < e.p.at+4*stride {
			room = e.pt.at - e.p.at + stride + 5
		}
	}
	if e.p.at-e.s.at > room {
		e.add("order of P and S", -4.5)
	}
}

// addBefore takes back what was taken from the voltages for a like value before
// them, where that is something else: a current, a power, or a mean of currents.
func (e *explanation) addBefore(l *library) {
	s := l.at(e.v.form, place{e.v.table, e.v.at - e.v.stride})
	if e.v.before == 0 || s == nil {
		return
	}
	if inside(s, e.i) || inside(s, e.p) || s.at == e.i.at+len(e.i.of)*e.i.stride && l.meanFollows(e.i) {
		e.add("what is before", -e.v.before)
	}
}

// addLeftOut looks beside fewer than three channels for one more, where the
// voltage is dead or low and a current flows.
func (e *explanation) addLeftOut(l *library) {
	next := func(g *group, by int) *series {
		stride := g.stride
		if stride == 0 {
			stride = g.size()
		}
		at := g.at + by*stride
		if by > 0 {
			at += (len(g.of) - 1) * stride
		}
		return l.at(g.form, place{g.table, at})
	}
	for _, by := range []int{-1, 1} {
		v, i, p := next(e.v.group, by), next(e.i, by), next(e.p, by)
		if v == nil || i == nil || p == nil || v == p || v == i || i == p {
			continue
		}
		flows := i.low > 0 && (i.moves() || i.coarse(i.low) > 0.0015)
		if most := e.i.most(); v.zero() && p.zero() && flows && i.high < 20*most && i.low > most/100 {
			e.add("a channel left out", -9)
		}
	}
}

// isLineVoltage reports an anchor that is the root of three times another.
func isLineVoltage(a *anchor, all []anchor) bool {
	volts := func(b *anchor) float64 {
		sizes := make([]float64, len(b.of))
		for k, s := range b.of {
			sizes[k] = s.x[0]
		}
		return typical(sizes) * math.Pow10(b.ten)
	}
	for i := range all {
		b := &all[i]
		if len(a.of) == 3 && b.form == a.form && b.moves() && !overlap(a.group, b.group) && b.score > 2 &&
			math.Abs(volts(a)/volts(b)/rootThree-1) < 0.02 {
			return true
		}
	}
	return false
}
