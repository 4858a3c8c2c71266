package learn

import (
	"math"
	"slices"

	"legwork/probe/learn/image"
	"legwork/probe/reading"
)

// Understand finds out what an image holds. What was measured helps; without it
// the power of ten of the currents is mostly open.
func Understand(im *image.Image, measured []Measured) *Result {
	l := read(im)
	l.measured = measured
	all := views(l.explanations(), measured)
	return l.conclude(all, measured)
}

// Probabilities from which a point goes into the map. Voltages, currents and
// powers carry the verdict on a wiring; the bench of layouts chose theirs.
const (
	sure     = 0.95
	likely   = 0.9
	mostSeen = 0.5 // below, nothing at all is said of the channels
)

// conclude makes the result of weighed views.
func (l *library) conclude(all []*view, measured []Measured) *Result {
	r := &Result{}
	if len(all) == 0 {
		return r
	}
	top := all[0]
	l.chooseReactive(top.explanation)
	st := l.stand(top.explanation)
	chances := chancesOf(top, all)
	if n := len(top.v.of); chances.channels > mostSeen {
		r.Channels = n
	}
	r.Settled = !slices.ContainsFunc(measured, func(m Measured) bool { return m.Point.Channel() > len(top.v.of) })
	for _, p := range l.found(top, st, chances, measured) {
		bar := likely
		if p.Quantity <= reading.Power {
			bar = sure
		}
		if p.Probability >= bar {
			r.Points = append(r.Points, p)
			continue
		}
		r.Open = append(r.Open, p)
		r.Settled = r.Settled && p.Quantity > reading.Power
	}
	if !r.Settled {
		r.Ask = ask(all)
	}
	r.Placed = r.Settled || placed(top, all) >= sure
	return r
}

// found lists the points of the likeliest view with their ties.
func (l *library) found(v *view, st standings, c chances, measured []Measured) []Found {
	var out []Found
	add := func(q reading.Quantity, p part, ten int, probability float64, ties func(k int) []Tie) {
		_, _, right := st.as(p)
		probability *= right
		for k, s := range p.of {
			index := k + 1
			if q.Scope() == reading.Once {
				index = 0
			}
			point := Found{Point: st.point(p, s, ten), Probability: probability}
			point.Point.Point = reading.Point{Quantity: q, Index: index}
			point.Reads = s.x[len(s.x)-1] * math.Pow10(ten)
			if q == reading.PowerFactor {
				v.signOfFactor(&point.Point)
			}
			point.Ties = append(ties(k), shown(measured, point)...)
			out = append(out, point)
		}
	}
	t := &ties{v}
	add(reading.Voltage, part{v.v.group, voltages}, v.v.ten, c.volts, t.ofVoltage)
	add(reading.Current, part{v.i, currents}, v.ampere, c.amps, t.ofCurrent)
	add(reading.Power, part{v.p, powers}, v.watt(), c.watts, t.ofPower)
	if v.q != nil {
		add(reading.Reactive, part{v.q, powers}, v.watt(), c.all*v.ofReactive, t.squares)
	}
	if v.s != nil {
		add(reading.Apparent, part{v.s, powers}, v.watt(), c.all*v.sure("S = V I"), t.product)
	}
	if v.pf != nil {
		add(reading.PowerFactor, part{v.pf, factors}, v.pfTen, c.all*v.sure("pf = P / S"), t.factor)
	}
	if v.pt != nil {
		add(reading.TotalPower, part{alone(v.pt), totals}, v.watt(), c.watts*v.sure("total power"),
			t.total(reading.Power, reading.TotalPower, v.p, v.pt))
	}
	if v.qt != nil {
		add(reading.TotalReactive, part{alone(v.qt), totals}, v.watt(), c.all*v.ofReactive*v.sure("total reactive power"),
			t.total(reading.Reactive, reading.TotalReactive, v.q, v.qt))
	}
	v.doubt(out, measured)
	out = append(out, l.frequency(v, st, measured)...)
	out = append(out, l.energies(v, st, measured)...)
	return append(out, l.lineVoltages(v, st, c.volts)...)
}
