package learn

import (
	"cmp"
	"math"
	"slices"

	"legwork/probe/reading"
	"legwork/probe/regmap"
)

// explanation joins quantities of the same channels. Its numbers are those of
// the registers: P = V I cos 10^ten.
type explanation struct {
	v        anchor
	i, p     *group
	ten      int
	share    [][]float64 // P over V I, a channel and a round each; nil where nothing flows
	mid      []float64   // its middle over the rounds
	fuzz     []float64   // how coarse a channel's share is
	one      float64     // how much P looks like V I itself
	s, q, pf *group
	pfTen    int
	pt, qt   *series
	idle     bool           // a channel has no current, or no voltage
	rivals   []*explanation // of the same currents
	score    float64
	shown    float64    // how well it goes with what was measured, beside the score
	weighed  []weighing // what the score is made of
}

// weighing is one part of a score.
type weighing struct {
	what  string
	score float64
}

func (e *explanation) add(what string, score float64) {
	e.score += score
	e.weighed = append(e.weighed, weighing{what, score})
}

const (
	mostExplanations = 150
	slack            = 0.02   // of a power beyond V times I: quantities of different instants
	apart            = 0.0015 // by which quantities of different instants differ
)

// flow is what voltage and current of an anchor and a group make.
type flow struct {
	i    *group
	va   [][]float64
	fuzz []float64
}

// newFlow is nil where a channel has neither.
func newFlow(a *anchor, i *group) *flow {
	f := &flow{i: i}
	for k, v := range a.of {
		current := i.of[k]
		if v.zero() && current.zero() {
			return nil // there is no such channel
		}
		va := make([]float64, len(v.x))
		for r := range va {
			va[r] = v.x[r] * current.x[r]
		}
		f.va = append(f.va, va)
		f.fuzz = append(f.fuzz, v.coarse(v.high)+current.coarse(current.high))
	}
	return f
}

// follows is a quick look whether a power changes as V I does, but for a load
// that is switched, or by itself.
func (f *flow) follows(p *group) bool {
	largest := 0.
	for k, s := range p.of {
		if va := f.va[k][0]; va != 0 {
			largest = math.Max(largest, math.Abs(s.x[0])/va)
		}
	}
	for k, s := range p.of {
		strays := 0
		for r := 1; r < len(s.x); r++ {
			was, is := f.va[k][r-1], f.va[k][r]
			if was == 0 || is == 0 {
				continue
			}
			a, b := s.x[r-1]/was, s.x[r]/is
			if math.Abs(a-b) > 0.3*(math.Abs(a)+math.Abs(b))+0.03*largest && math.Abs(s.x[r]-s.x[r-1]) > 4*s.step {
				strays++
			}
		}
		if 2*strays > len(s.x)-1 {
			return false
		}
	}
	return true
}

// explain lists explanations that begin with an anchor.
func (l *library) explain(a *anchor, c context) []*explanation {
	currents := l.beside(a.group, c, func(g *group) bool { return isCurrent(a.group, g) && l.shows(g, reading.Current) })
	powers := l.beside(a.group, c, func(g *group) bool { return isPower(a.group, g) })
	var all []*explanation
	for _, i := range currents {
		f := newFlow(a, i)
		if f == nil {
			continue
		}
		var here []*explanation
		for _, p := range powers {
			if !c.own(a.form) && !c.own(i.form) && !c.own(p.form) {
				continue // another context has it
			}
			if e := l.pair(a, f, p); e != nil {
				here = append(here, e)
			}
		}
		for _, e := range here {
			e.shown = e.bestShown(l.measured)
		}
		here = best(here, 100)
		for _, e := range here {
			e.addApparent(here)
			all = append(all, e)
		}
	}
	return best(all, 80)
}

// best keeps the likeliest.
func best(all []*explanation, most int) []*explanation {
	slices.SortStableFunc(all, func(a, b *explanation) int { return cmp.Compare(b.score+b.shown, a.score+a.shown) })
	return all[:min(len(all), most)]
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

func isPower(v, g *group) bool { return !overlap(v, g) && (!g.float() || g.most() < 1e8) }

// shows reports a group that goes with what was measured of its quantity, but
// for the power of ten, on most channels.
func (l *library) shows(g *group, q reading.Quantity) bool {
	good, bad := 0, 0
	for _, m := range l.measured {
		if m.Point.Quantity != q || m.Point.Index < 1 || m.Point.Index > len(g.of) || m.Value == 0 {
			continue
		}
		one := g.of[m.Point.Index-1]
		if one.zero() {
			continue
		}
		if slices.ContainsFunc(one.x, func(x float64) bool {
			ten := math.Log10(math.Abs(x) / m.Value)
			return math.Abs(ten-math.Round(ten)) < 0.15
		}) {
			good++
		} else {
			bad++
		}
	}
	return good >= bad || bad == 1
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

// pair weighs a power beside a voltage and a current; nil where it can't be one.
func (l *library) pair(a *anchor, f *flow, p *group) *explanation {
	if !f.follows(p) || overlap(f.i, p) {
		return nil
	}
	if equal(f.i, p) {
		return nil // P over I alone is as steady as V
	}
	most, ok := largestShare(f, p)
	if !ok {
		return nil
	}
	e := &explanation{v: *a, i: f.i, p: p, ten: int(math.Ceil(math.Log10(most / (1 + slack))))}
	if !e.tenFits() || l.measuredTen(e) == e.ten+1 {
		e.ten++ // all factors are low
		if !e.tenFits() {
			return nil
		}
	}
	e.share = make([][]float64, len(p.of))
	e.fuzz, e.mid = make([]float64, len(p.of)), make([]float64, len(p.of))
	e.add("voltages", a.score)
	if len(p.of) == 2 && twins(a.group) && twins(f.i) && twins(p) {
		return nil // one channel, read twice
	}
	scale := math.Pow10(-e.ten)
	for k := range p.of {
		e.fuzz[k] = f.fuzz[k] + p.of[k].coarse(p.of[k].most())
		share := shareOf(f.va[k], p.of[k].x, scale)
		if share == nil {
			e.add("no current", -3)
			e.idle = true
			continue
		}
		e.share[k], e.mid[k] = share, median(share)
		e.add("steady", e.steadiness(k))
		e.add("load", 0.5*math.Log(0.3+0.7*math.Min(1, math.Abs(share[0]))))
	}
	if most*scale < 0.2 {
		e.add("low factor", -1.5)
	}
	e.addPlaces()
	e.one = e.unity()
	return e
}

// shareOf is P over V I in every round; where nothing flowed, as in the others.
// It is nil where nothing ever did.
func shareOf(va, p []float64, scale float64) []float64 {
	var live []float64
	for r, x := range va {
		if x != 0 {
			live = append(live, p[r]/x*scale)
		}
	}
	if live == nil {
		return nil
	}
	share := slices.Repeat([]float64{median(live)}, len(va))
	for r, x := range va {
		if x != 0 {
			share[r] = p[r] / x * scale
		}
	}
	return share
}

// measuredTen is the power of ten of an explanation that what was measured of a
// channel asks for; a large number where nothing was.
func (l *library) measuredTen(e *explanation) int {
	get := func(q reading.Quantity, k int) float64 {
		for _, m := range l.measured {
			if m.Point == (reading.Point{Quantity: q, Index: k + 1}) {
				return m.Value
			}
		}
		return 0
	}
	for k, s := range e.p.of {
		v, i, p := get(reading.Voltage, k), get(reading.Current, k), get(reading.Power, k)
		raw := s.mid / e.v.of[k].mid / e.i.of[k].mid
		if v*i*p == 0 || p < 0.02*v*i || raw == 0 || math.IsInf(raw, 0) || math.IsNaN(raw) {
			continue
		}
		return int(math.Round(math.Log10(math.Abs(raw) * v * i / p)))
	}
	return math.MaxInt
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

// largestShare is the largest P over V I; it may not be that there is power
// where there is no current.
func largestShare(f *flow, p *group) (most float64, ok bool) {
	all := p.most()
	for k, s := range p.of {
		for r, va := range f.va[k] {
			if va == 0 {
				if x := math.Abs(s.x[r]); x > 2*s.step+1e-5*all {
					return 0, false
				}
				continue
			}
			if share := math.Abs(s.x[r]) / va; share > most && f.fuzz[k]+s.coarse(s.x[r]) < 0.2 {
				most = share
			}
		}
	}
	return most, most > 0
}

// tenFits reports a power of ten that steps of volts, amperes and watts can have.
func (e *explanation) tenFits() bool {
	if e.i.float() {
		return e.ten == 0 || e.ten == -3 || e.ten == -6
	}
	for ampere := -4; ampere <= 1; ampere++ {
		if watt := e.v.ten + ampere - e.ten; watt >= -3 && watt <= 3 {
			return true
		}
	}
	return false
}

// steadiness weighs that a channel's P over V I hardly changes from round to
// round while V, I and P do, against numbers that have nothing to do with each
// other. A load that is switched changes it once.
func (e *explanation) steadiness(k int) float64 {
	share := e.share[k]
	size := math.Abs(e.mid[k])
	across := math.Sqrt(math.Max(0.1, 1-size*size)) // what a change of the angle does
	near := 1.4 * math.Hypot(math.Hypot(apart*size, 2*apart*across), size*e.fuzz[k])
	unlike := math.Hypot(near, size*math.Hypot(unrest(e.i.of[k].x), unrest(e.p.of[k].x)))
	sum := 0.
	for r := 1; r < len(share); r++ {
		x := share[r] - share[r-1]
		sum += math.Log(0.6*bell(x, near)+0.3*bell(x, 5*near)+0.1*bell(x, 0.03+0.1*size)+0.005) - math.Log(bell(x, unlike))
	}
	return math.Max(-4, math.Min(6, sum))
}

// bell is the density of the normal distribution.
func bell(x, sigma float64) float64 {
	return math.Exp(-x*x/(2*sigma*sigma))/(sigma*2.5066283) + 1e-12
}

func median(x []float64) float64 {
	sorted := slices.Clone(x)
	slices.Sort(sorted)
	return sorted[len(sorted)/2]
}

// unrest is the size of the changes from round to round, against the mean size.
func unrest(x []float64) float64 {
	squares, size := 0., 0.
	for r, y := range x {
		size += math.Abs(y) / float64(len(x))
		if r > 0 {
			squares += (y - x[r-1]) * (y - x[r-1]) / float64(len(x)-1)
		}
	}
	if size == 0 {
		return 0
	}
	return math.Sqrt(squares) / size
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
	if e.p.size() < e.i.size() {
		e.add("form", -1)
	}
	if odd := e.v.stride == 3 || e.v.stride > 4; e.i.stride != e.v.stride && (odd || e.i.long() == e.v.long()) {
		e.add("stride", -3)
	}
	if v, i := e.v.group.unrest(), e.i.unrest(); v > 0 && i > 0 {
		e.add("voltages are steadier", math.Max(-3, math.Min(0, math.Log(i/v))))
	}
	if e.p.stride != e.i.stride && e.p.long() == e.i.long() {
		e.add("stride", -1)
	}
}

// addApparent looks among the powers of the same current for one that is V I
// itself, and for one that is the reactive power.
func (e *explanation) addApparent(others []*explanation) {
	bestS, bestQ := 0., 0.
	e.rivals = others
	for _, o := range others {
		if o.ten == e.ten+1 && o.one > 3*float64(len(o.p.of)) && alongside(o.p, e.p) && !overlap(o.p, e.p) && !e.i.float() {
			e.lower()
		}
		if o.ten != e.ten || !alongside(o.p, e.p) || o == e || overlap(o.p, e.p) {
			continue
		}
		if x := o.one; x > bestS && !slices.ContainsFunc(o.p.of, func(s *series) bool { return s.low < 0 }) {
			bestS, e.s = x, o.p
		}
		if x := e.squares(o); x > bestQ {
			bestQ, e.q = x, o.p
		}
	}
	if e.s == e.q { // all is real power, or all is reactive: one of them is both
		e.q = nil
		bestQ = 0
	}
	e.add("S = V I", math.Max(0, math.Min(14, bestS)-0.5*math.Log(float64(1+len(others)))))
	e.add("P2 + Q2 = S2", math.Min(5, bestQ))
	if e.q != nil && e.q.at < e.p.at {
		e.add("order of P and Q", -4)
	}
	if e.s != nil && e.s.at < e.p.at {
		e.add("order of P and S", -0.5)
	}
	if e.s == nil && e.one > 3*float64(len(e.p.of)) {
		e.add("power is apparent", -2-math.Max(0, e.part("steady")-2*float64(len(e.p.of))))
	}
}

// lower takes all factors as a tenth.
func (e *explanation) lower() {
	e.ten++
	for k, share := range e.share {
		for r := range share {
			share[r] /= 10
		}
		e.mid[k] /= 10
	}
	e.one = 0
	e.add("low factor", -1.5)
}

// alongside reports groups that may be of one kind and step: a 32-bit one that
// is small is known by its low halves only.
func alongside(a, b *group) bool {
	return a.stride == b.stride && a.float() == b.float() && (a.size() == b.size() || a.stride != 1)
}

// unity weighs that P is V I in all channels, against a number that is any.
func (e *explanation) unity() float64 {
	sum := 0.
	for k, share := range e.share {
		if share == nil {
			continue
		}
		x := e.mid[k] - 1
		sum += math.Min(6, math.Log(2.3*(0.7*bell(x, 0.0002+0.7*e.fuzz[k])+0.25*bell(x, 0.003+e.fuzz[k]))+1e-4))
	}
	return sum
}

// squares weighs that P and another are active and reactive power of the same
// apparent one: their squares make one, or somewhat less under distortion.
func (e *explanation) squares(o *explanation) float64 {
	sum := 0.
	for k, share := range e.share {
		if share == nil || o.share[k] == nil {
			continue
		}
		c, s := e.mid[k], o.mid[k]
		x := c*c + s*s - 1
		fuzz := 2 * (e.fuzz[k] + o.fuzz[k])
		less := 0.
		if x < 0.01+fuzz {
			less = math.Exp(-math.Max(0, -x)/0.1) / 0.1
		}
		sum += math.Max(-3, math.Min(3, math.Log(0.5*bell(x, 0.0005+fuzz)+0.3*less+1e-3)+math.Log(0.8)))
	}
	return sum
}
