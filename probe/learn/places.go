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
	case v && !(i && p) || p && !v && e.v.typ == regmap.S32:
		e.add("exchanged bytes", -4)
	case i && !p:
		e.add("exchanged bytes", -2)
	}
	if e.p.size() < e.i.size() && !extends(e.p, e.i.order) {
		e.add("form", -1)
	}
	if odd := e.v.stride == 3 || e.v.stride > 4; e.i.stride != e.v.stride && (odd || e.i.long() == e.v.long()) {
		e.add("stride", -4.5)
	}
	if v, i := e.v.group.unrest(), e.i.unrest(); v > 0 && i > 0 {
		e.add("voltages are steadier", math.Max(-3, math.Min(0, math.Log(i/v))))
	}
	if from, to := min(e.v.at, e.i.at), max(e.v.at, e.i.at); e.records() && to-from >= e.v.stride {
		e.add("stride", -4.5) // not in one record
	}
	switch {
	case e.p.stride == e.i.stride:
	case e.idle:
		e.add("stride", -4.5) // a channel of no power could stand anywhere
	case e.records():
		e.add("stride", -4.5)
	case e.p.long() != e.i.long():
	case e.p.long():
		e.add("stride", -1)
	default: // what is short has no reason for it
		e.add("stride", -3)
	}
}

// records reports that the channels have records of their own: their voltages and
// currents stand farther apart than values do, with gaps or without.
func (e *explanation) records() bool { return e.i.stride == e.v.stride && e.i.stride > 4 }
