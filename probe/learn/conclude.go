package learn

import (
	"cmp"
	"math"
	"slices"

	"legwork/probe/reading"
	"legwork/probe/regmap"
)

// conclude makes the result of weighed views. signed is what was measured, with signs.
func (l *library) conclude(all []*view, signed []Measured) *Result {
	r, measured := &Result{}, l.measured
	if len(all) == 0 {
		return r
	}
	putLikeliestFirst(all)
	l.settleTurned(all)
	top, st, own := l.surest(all, measured)
	chances := chancesOf(top, all).beside(top.againstElsewhere(measured)).times(own)
	if top.idle && len(top.v.of) == 2 && top.v.stride > byQuantity && (top.v.of[1].zero() || measuredTo(measured) < 2) {
		chances = chances.times(doubtfulPlace) // nothing but a voltage tells where the idle channel is
	}
	if n := len(top.v.of); chances.channels > mostSeen {
		r.Channels = n
	}
	beyond := func(m Measured) bool { return m.Point.Channel() > len(top.v.of) && m.isThere(measured) }
	r.Settled = !top.leavesOut(measured) && !slices.ContainsFunc(measured, beyond)
	found := l.found(top, st, chances, measured)
	r.Doubts = append(top.doubts(signed), top.ownDoubts(l)...)
	doubt(found, r.Doubts)
	for _, p := range found {
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
		r.Ask = ask(r.Doubts, func() *Ask { return cmp.Or(l.ask(all), l.confirm(slices.Concat(r.Open, r.Points))) })
	}
	return r
}

// chooseReactive looks again for the reactive power of the likeliest
// explanation: beside the squares its total counts, and the place after the power.
func (l *library) chooseReactive(e *explanation) {
	if e.q == nil {
		return
	}
	c := context{e.p.form}
	if e.p.size() == 1 {
		c = contexts()[0]
	}
	most, loose := math.Inf(-1), false
	var found *group
	for _, o := range e.rivals {
		x := e.reactive(o)
		if o == e || x < 0 || !alongside(o.p, e.p) || e.uses(o.p) {
			continue
		}
		total, fits := l.sum(o.p, c)
		if o.p.at < e.p.at {
			x -= 2.5
		}
		if x += math.Min(2, fits-1); x > most {
			most, found = x, o.p
			e.qt = nil
			if fits > 2 {
				e.qt = total
			}
			loose = e.looseSquares(o)
		}
	}
	if e.q = found; found == nil {
		e.qt = nil
	}
	if loose && e.qt == nil {
		most = math.Min(most, 0) // distortion would explain it, and so would chance
	}
	e.weighed = append(e.weighed, weighing{"chosen", most})
}

// looseSquares reports squares that miss on some channel by more than a step explains.
func (e *explanation) looseSquares(o *explanation) bool {
	for k := range e.share {
		if off, ok := e.offSquares(o, o.ten, k); ok && math.Abs(off) > looseSquares+2*(e.fuzz[k]+o.fuzz[k]) {
			return true
		}
	}
	return false
}

// looseSquares is from where they are loose. Our choice, no source.
const looseSquares = 0.02

// chances are what the views that agree with the likeliest weigh together.
type chances struct{ channels, volts, amps, watts, all float64 }

func (c chances) times(x float64) chances {
	return chances{c.channels * x, c.volts * x, c.amps * x, c.watts * x, c.all * x}
}

// beside lowers those of what stands beside the voltages.
func (c chances) beside(x float64) chances {
	return chances{c.channels, c.volts, c.amps * x, c.watts * x, c.all * x}
}

func chancesOf(top *view, all []*view) chances {
	var c chances
	for _, v := range all {
		if len(v.v.of) != len(top.v.of) {
			continue
		}
		c.channels += v.weight
		volts, amps, watts := v.likeness(top)
		for _, one := range []struct {
			is  bool
			sum *float64
		}{{volts, &c.volts}, {amps && volts, &c.amps}, {watts && volts, &c.watts}, {volts && amps && watts, &c.all}} {
			if one.is {
				*one.sum += v.weight
			}
		}
	}
	return c
}

// found lists the points of the likeliest view with their ties.
func (l *library) found(v *view, all standings, c chances, measured []Measured) []Point {
	var out []Point
	add := func(q reading.Quantity, p part, ten int, probability float64, ties func(k int) []Tie) {
		st := all[v.classOf(p.group)]
		if p.size() == 1 {
			probability *= st.probability
		}
		for k, s := range p.of {
			index := k + 1
			if q.Scope() == reading.Once {
				index = 0
			}
			point := Point{Point: st.point(p, s, ten), Probability: probability}
			point.Point.Point = reading.Point{Quantity: q, Index: index}
			point.Reads = s.x[len(s.x)-1] * math.Pow10(ten)
			point.NoSignSeen = q == reading.Power && !v.p.belowZero()
			if q == reading.PowerFactor {
				v.signOfFactor(&point.Point)
			}
			point.Ties = append(ties(k), shownTies(measured, point)...)
			out = append(out, point)
		}
	}
	t := &ties{v}
	add(reading.Voltage, part{v.v.group, false}, v.v.ten, c.volts, t.ofVoltage)
	add(reading.Current, part{v.i, false}, v.ampere, c.amps, t.ofCurrent)
	add(reading.Power, part{v.p, true}, v.watt(), c.watts, t.ofPower)
	if v.q != nil {
		add(reading.Reactive, part{v.q, true}, v.watt(), c.all*v.sure("chosen"), t.squares)
	}
	if v.s != nil {
		add(reading.Apparent, part{v.s, false}, v.watt(), c.all*v.sureOfApparent(), t.product)
	}
	if v.pf != nil {
		add(reading.PowerFactor, part{v.pf, true}, v.pfTen, c.all*v.sure("pf = P / S"), t.factor)
	}
	if v.pt != nil {
		add(reading.TotalPower, part{alone(v.pt), true}, v.watt(), c.watts*v.sure("total power"),
			t.sum(reading.Power, reading.TotalPower, v.p, v.pt))
	}
	if v.qt != nil {
		add(reading.TotalReactive, part{alone(v.qt), true}, v.watt(), c.all*v.sure("total reactive power"),
			t.sum(reading.Reactive, reading.TotalReactive, v.q, v.qt))
	}
	st := all[powers]
	out = append(out, l.frequency(v, st, measured)...)
	out = append(out, l.energies(v, st, measured)...)
	return append(out, l.lineVoltages(v, all[volts], c.volts)...)
}

// sureOfApparent is a probability for the apparent power. Where nearly all power is
// active a second copy of that, or a total, looks the same. Our choice, no source.
func (v *view) sureOfApparent() float64 {
	for k, share := range v.share {
		if share != nil && math.Abs(v.mid[k]) < 0.995 {
			return 0.99
		}
	}
	return 0.85
}

// signOfFactor finds what the sign of a power factor tells.
func (v *view) signOfFactor(p *regmap.Point) {
	negative, against, reversed := false, false, false
	for k, g := range v.pf.of {
		for r, x := range g.x {
			power := v.p.of[k].x[r]
			negative = negative || x < 0
			reversed = reversed || power < 0
			against = against || x*power < 0
		}
	}
	switch {
	case negative && against:
		p.PowerFactorSign = reading.SignTellsLagging
	case negative || !reversed:
		p.PowerFactorSign = reading.SignTellsPower
	default:
		p.PowerFactorSign = reading.SignTellsNothing
	}
	if p.Type == regmap.S16 && p.PowerFactorSign == reading.SignTellsNothing {
		p.Type = regmap.U16
	}
}
