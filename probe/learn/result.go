package learn

import (
	"math"
	"slices"

	"legwork/probe/reading"
	"legwork/probe/regmap"
)

// Point is where a quantity stands, as far as it was found out.
type Point struct {
	regmap.Point
	Reads       float64 // in SI, in the last round
	Ties        []Tie
	Probability float64
}

// Ask is the measurement that would settle most.
type Ask struct {
	Point reading.Point
	Or    []float64 // what the likeliest explanations expect of it, in SI
}

// Result is what was understood of an image.
type Result struct {
	Meter    string // for the file; the caller's
	Unit     int    // likewise
	Channels int    // that are present; 0 where nothing was found
	Points   []Point
	Open     []Point // the likeliest reading of what isn't settled
	Settled  bool    // voltage, current and power of every channel
	Ask      *Ask    // nil where nothing would settle more
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
		c = append(c, form{regmap.U16, regmap.ABCD}, form{regmap.S16, regmap.ABCD}, form{regmap.S32, regmap.ABCD},
			form{regmap.S32, regmap.CDAB})
	}
	most := math.Inf(-1)
	var found *group
	for _, o := range e.rivals {
		x := e.squares(o)
		if o == e || x < 0 || o.ten != e.ten || !alongside(o.p, e.p) || e.uses(o.p) {
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
		}
	}
	if e.q = found; found == nil {
		e.qt = nil
	}
	e.weighed = append(e.weighed, weighing{"chosen", most})
}

// uses reports that an explanation has a group's registers already, for
// something other than the reactive power.
func (e *explanation) uses(g *group) bool {
	for _, other := range []*group{e.p, e.s, e.pf, alone(e.pt)} {
		if other != nil && overlap(other, g) {
			return true
		}
	}
	return false
}

// chances are what the views that agree with the likeliest weigh together.
type chances struct{ channels, volts, amps, watts, all float64 }

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
func (l *library) found(v *view, st standing, c chances, measured []Measured) []Point {
	var out []Point
	add := func(q reading.Quantity, p part, ten int, probability float64, ties func(k int) []Tie) {
		st := st
		if p.group == v.v.group || p.group == v.i {
			st = l.standBeside(v.explanation, st, p.group)
		}
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
			if q == reading.PowerFactor {
				v.signOfFactor(&point.Point)
			}
			point.Ties = append(ties(k), shown(measured, point)...)
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
		add(reading.Apparent, part{v.s, false}, v.watt(), c.all*0.99, t.product)
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
	v.doubt(out, measured)
	out = append(out, l.frequency(v, st, measured)...)
	out = append(out, l.energies(v, st, measured)...)
	return append(out, l.lineVoltages(v, st, c.volts)...)
}

// closest is how far what was measured is from the round that is nearest.
func (v *view) closest(m Measured) float64 {
	g, ten := v.v.group, v.v.ten
	switch m.Point.Quantity {
	case reading.Current:
		g, ten = v.i, v.ampere
	case reading.Power:
		g, ten = v.p, v.watt()
	}
	off := math.Inf(1)
	for _, x := range g.of[m.Point.Index-1].x {
		off = math.Min(off, math.Abs(math.Abs(x)*math.Pow10(ten)-m.Value))
	}
	return off
}

// doubt lowers the probability of a quantity that most of what was measured of
// it contradicts.
func (v *view) doubt(all []Point, measured []Measured) {
	for _, q := range []reading.Quantity{reading.Voltage, reading.Current, reading.Power} {
		good, bad := 0, 0
		for _, m := range measured {
			_, is := v.at(m.Point)
			slack := 0.25 * m.Value
			if q == reading.Power {
				slack += 0.06 * v.apparent(m.Point.Index)
			}
			switch {
			case !is || m.Point.Quantity != q || m.Value == 0:
			case v.closest(m) < slack:
				good++
			default:
				bad++
			}
		}
		for i := range all {
			if all[i].Quantity == q && bad > 0 && bad >= good {
				all[i].Probability *= 0.3
			}
		}
	}
}

// part is what one weighing gave.
func (e *explanation) part(what string) float64 {
	sum := 0.
	for _, w := range e.weighed {
		if w.what == what {
			sum += w.score
		}
	}
	return sum
}

// sure is a probability for what one weighing gave.
func (v *view) sure(what string) float64 { return 1 - 0.5*math.Exp(-math.Max(0, v.part(what))) }

// shown ties a point to what an instrument shows of it.
func shown(all []Measured, p Point) []Tie {
	var out []Tie
	for _, m := range all {
		if m.Point == p.Point.Point && m.Value != 0 {
			off := math.Abs(math.Abs(p.Reads)/m.Value - 1)
			out = append(out, Tie{Shown, []reading.Point{m.Point}, off, m.Value})
		}
	}
	return out
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

// ask finds the measurement after which most would be settled: of every value
// that it could show, the likeliest explanation remains.
func ask(all []*view) *Ask {
	classes := meanings(all)
	if len(classes) == 0 {
		return nil
	}
	var best *Ask
	most := classes[0].weight + 0.02
	for _, p := range reading.Points() {
		switch p.Quantity {
		case reading.Voltage, reading.Current, reading.Power, reading.TotalPower:
		default:
			continue
		}
		if remains, or := tellApart(classes, p); remains > most+1e-3 {
			most, best = remains, &Ask{p, or}
		}
	}
	return best
}

// meanings joins views that mean the same.
func meanings(all []*view) []*view {
	var classes []*view
	for _, v := range all {
		if v.weight < 1e-4 || len(classes) > 40 {
			break
		}
		i := slices.IndexFunc(classes, v.agree)
		if i >= 0 {
			classes[i].weight += v.weight
			continue
		}
		one := *v
		classes = append(classes, &one)
	}
	return classes
}

// tellApart is what would remain after a measurement, on average, and what it
// is expected to show.
func tellApart(classes []*view, p reading.Point) (remains float64, or []float64) {
	type bin struct{ value, weight float64 }
	var bins []bin
	for _, v := range classes {
		x, ok := v.at(p)
		x = math.Abs(x)
		if !ok || x == 0 {
			x = 1e-9
		}
		i := slices.IndexFunc(bins, func(b bin) bool { return math.Abs(math.Log(b.value/x)) < 0.12 })
		if i < 0 {
			bins = append(bins, bin{x, v.weight}) // classes come by weight
			if x > 1e-9 && len(or) < 3 && v.weight > 0.02 {
				or = append(or, x)
			}
		}
	}
	for _, b := range bins {
		remains += b.weight
	}
	return remains, or
}
