package learn

import (
	"cmp"
	"math"
	"slices"

	"legwork/probe/reading"
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
	rivals   []*explanation // of the same currents
	score    float64
	weighed  []weighing // what the score is made of
	weight   float64    // probability among the explanations
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

// follows is a quick look whether a power changes as V I does, or by some other load.
func (f *flow) follows(p *group) bool {
	for k, s := range p.of {
		va := f.va[k]
		last := len(va) - 1
		if va[0] == 0 || va[last] == 0 {
			continue
		}
		first, end := s.x[0]/va[0], s.x[last]/va[last]
		if math.Abs(first-end) > 0.3*(math.Abs(first)+math.Abs(end)) && math.Abs(s.x[0]-s.x[last]) > 4*s.step {
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
			if e := pair(a, f, p); e != nil {
				here = append(here, e)
			}
		}
		here = best(here, 40)
		for _, e := range here {
			if l.shows(e.p, reading.Power) {
				e.addApparent(here)
				all = append(all, e)
			}
		}
	}
	return best(all, 80)
}

// best keeps the likeliest.
func best(all []*explanation, most int) []*explanation {
	slices.SortStableFunc(all, func(a, b *explanation) int { return cmp.Compare(b.score, a.score) })
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
		x := g.of[m.Point.Index-1].most()
		if x == 0 {
			continue
		}
		ten := math.Log10(x / m.Value)
		if off := math.Abs(ten - math.Round(ten)); off < 0.15 {
			good++
		} else {
			bad++
		}
	}
	return good >= bad
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
func pair(a *anchor, f *flow, p *group) *explanation {
	if !f.follows(p) || overlap(f.i, p) {
		return nil
	}
	most, ok := largestShare(f, p)
	if !ok {
		return nil
	}
	e := &explanation{v: *a, i: f.i, p: p, ten: int(math.Ceil(math.Log10(most / (1 + slack))))}
	if !e.tenFits() {
		return nil
	}
	e.share = make([][]float64, len(p.of))
	e.fuzz, e.mid = make([]float64, len(p.of)), make([]float64, len(p.of))
	e.add("voltages", a.score)
	scale := math.Pow10(-e.ten)
	for k := range p.of {
		e.fuzz[k] = f.fuzz[k] + p.of[k].coarse(p.of[k].most())
		if slices.Contains(f.va[k], 0) {
			continue
		}
		share := make([]float64, len(f.va[k]))
		for r := range share {
			share[r] = p.of[k].x[r] / f.va[k][r] * scale
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

// largestShare is the largest P over V I; it may not be that there is power
// where there is no current.
func largestShare(f *flow, p *group) (most float64, ok bool) {
	all := p.most()
	for k, s := range p.of {
		for r, va := range f.va[k] {
			if va == 0 {
				if x := math.Abs(s.x[r]); x > 2*s.step && x > 0.005*all {
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
	near := 1.4 * math.Hypot(apart*(size+0.3), size*e.fuzz[k])
	unlike := math.Hypot(near, size*math.Hypot(unrest(e.i.of[k].x), unrest(e.p.of[k].x)))
	sum := 0.
	for r := 1; r < len(share); r++ {
		x := share[r] - share[r-1]
		sum += math.Log(0.6*bell(x, near)+0.3*bell(x, 5*near)+0.1*bell(x, 0.03+0.1*size)) - math.Log(bell(x, unlike))
	}
	return math.Max(-5, math.Min(6, sum))
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
	if e.p.size() < e.i.size() {
		e.add("form", -1)
	}
	if e.i.stride != e.v.stride && e.i.size() == e.v.size() {
		e.add("stride", -3)
	}
	if v, i := e.v.group.unrest(), e.i.unrest(); v > 0 && i > 0 {
		e.add("voltages are steadier", math.Max(-3, math.Min(0, math.Log(i/v))))
	}
	if e.p.stride != e.i.stride && e.p.size() == e.i.size() {
		e.add("stride", -1)
	}
}

// addApparent looks among the powers of the same current for one that is V I
// itself, and for one that is the reactive power.
func (e *explanation) addApparent(others []*explanation) {
	bestS, bestQ := 0., 0.
	e.rivals = others
	for _, o := range others {
		if o.ten != e.ten || o.p.form.size() != e.p.form.size() || o.p.stride != e.p.stride || o == e || overlap(o.p, e.p) {
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
		e.add("order of P and Q", -2.5)
	}
	if e.s != nil && e.s.at < e.p.at {
		e.add("order of P and S", -2)
	}
	if e.s == nil && e.one > 3*float64(len(e.p.of)) {
		e.add("power is apparent", -2)
	}
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
