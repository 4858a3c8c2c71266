package learn

import (
	"math"
	"slices"

	"legwork/probe/regmap"
)

// refine weighs what else a meter gives of the same channels: power factors,
// totals, means, line voltages.
func (l *library) refine(all []*explanation, a *anchor, anchors []anchor, c context) {
	factors := l.factors(a, c)
	lineVoltage := isLineVoltage(a, anchors)
	for _, e := range all {
		e.addFactor(factors)
		if lineVoltage {
			e.add("line voltage", -3)
		}
		if len(e.p.of) > 1 {
			e.addTotals(l, c)
		}
		if e.rests() || l.takesMean(e.i) {
			e.add("a mean or a total taken for a channel", -12)
		}
		e.addOrder()
		if most := measuredTo(l.measured); len(e.p.of) < 3 && (most < len(e.p.of) || most == 1) {
			e.addLeftOut(l)
		}
		for _, g := range []*group{e.v.group, e.i} {
			switch follows := l.meanFollows(g); {
			case g.fine() && (follows || len(g.of) == 3 && l.meanBefore(g)):
				e.add("a mean beside it", 4)
			case follows:
				e.add("a mean beside it", 1.5)
			}
		}
		for _, g := range []*group{e.v.group, e.i, e.p} {
			e.add("halves", g.halves())
		}
	}
}

// addOrder weighs that S comes before P where there is room for Q between them:
// then P is first, as good as always. Where all power is active nothing else
// tells them apart.
func (e *explanation) addOrder() {
	if e.s == nil || e.s.at > e.p.at || !e.mostlyActive() {
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

// mostlyActive reports that P and S are nearly one on all channels, and may be exchanged.
func (e *explanation) mostlyActive() bool {
	for k, share := range e.share {
		if share != nil && math.Abs(e.mid[k]) < 0.97 {
			return false
		}
	}
	return true
}

// factors lists what could be power factors beside an anchor.
func (l *library) factors(a *anchor, c context) []*group {
	var all []*group
	for _, f := range c {
		for _, p := range l.places(f) {
			if p.table != a.table || !nearby(a.group, p.at) {
				continue
			}
			for _, stride := range strides(a.group, f) {
				g := l.gather(f, p, stride, len(a.of))
				if g == nil || overlap(g, a.group) {
					continue
				}
				if most := g.most(); most > 0 && most <= 10050 && (!f.float() || most <= 100.5) {
					all = append(all, g)
				}
			}
		}
	}
	return all
}

// addFactor finds the power factors that fit best.
func (e *explanation) addFactor(all []*group) {
	most := 0.
	for _, g := range all {
		if overlap(g, e.i) || overlap(g, e.p) || !ordered(g, e.v.group, e.i, e.p) {
			continue
		}
		x, ten := e.factorFits(g)
		if g.size() != e.p.size() && g.size() != e.v.size() {
			x--
		}
		if g.stride != e.p.stride && g.stride != e.v.stride {
			x -= 2
		}
		if x > most {
			most, e.pf, e.pfTen = x, g, ten
		}
	}
	if most = math.Min(15, most) - 0.5*math.Log(float64(1+len(all))); most <= 0 {
		e.pf, most = nil, 0 // of so many some fits
	}
	e.add("pf = P / S", most)
}

// factorFits weighs that a group times a power of ten is P over V I, signs
// aside, against numbers that are any.
func (e *explanation) factorFits(g *group) (score float64, ten int) {
	tens := []int{-4, -3, -2}
	if g.float() {
		tens = []int{0, -2}
	}
	live := slices.IndexFunc(e.share, func(x []float64) bool { return x != nil && math.Abs(median(x)) > 0.03 })
	if live < 0 {
		return 0, 0
	}
	ratio := math.Abs(e.share[live][0]) / g.of[live].most()
	ten = tens[0]
	for _, t := range tens {
		if math.Abs(math.Log10(ratio)-float64(t)) < math.Abs(math.Log10(ratio)-float64(ten)) {
			ten = t
		}
	}
	scale := math.Pow10(ten)
	for k, share := range e.share {
		s := g.of[k]
		if s.most()*scale > 1.005 {
			return 0, 0
		}
		if share == nil {
			if idle := s.most() * scale; idle > 0 && idle < 0.995 {
				score -= 3 // of nothing
			}
			continue
		}
		off := make([]float64, len(share))
		for r := range share {
			off[r] = math.Abs(s.x[r])*scale - math.Abs(share[r])
		}
		size := math.Abs(e.mid[k])
		fuzz := s.coarse(s.most())*s.most()*scale + size*e.fuzz[k]
		x := median(off)
		worst := math.Max(math.Abs(slices.Max(off)), math.Abs(slices.Min(off)))
		one := math.Log(0.5*gaussian(x, 0.0001+fuzz) + 0.3*gaussian(x, 0.0006+fuzz) + 0.15*gaussian(x, 0.004+fuzz) + 0.01)
		if worst > 0.02+3*fuzz {
			one -= 3
		}
		score += math.Max(-4, math.Min(6.5, one))
	}
	return score, ten
}

// addTotals finds the sums of the powers.
func (e *explanation) addTotals(l *library, c context) {
	var x float64
	e.pt, x = l.sum(e.p, c)
	e.add("total power", math.Min(6, x))
	if e.q != nil {
		e.qt, x = l.sum(e.q, c)
		e.add("total reactive power", math.Min(3, x))
	}
}

// sum finds the register that is the sum of a group, and weighs it against a
// number that is any.
func (l *library) sum(g *group, c context) (*series, float64) {
	total := make([]float64, l.rounds)
	fuzz, size := 0., 0.
	for _, s := range g.of {
		fuzz += s.step / 2
		size += s.most()
		for r := range total {
			total[r] += s.x[r]
		}
	}
	middle := math.Abs(median(total))
	if middle < 4*fuzz || middle < 0.01*size {
		return nil, 0
	}
	var found *series
	most, idle := 0., slices.ContainsFunc(g.of, (*series).zero)
	for _, f := range c {
		for _, s := range l.listed[f] {
			if s.block.Table != g.table || s.typ == regmap.S32 && (s.same || !ordered(g, alone(s))) || inside(s, g) {
				continue
			}
			if x := fitsSum(s, total, middle, fuzz, size); x > 0 {
				if idle && s.at < g.at {
					x -= 1.5 // or it is the channel, and that its total
				}
				if x -= 0.3 * math.Log(1+math.Abs(float64(s.at-g.last()))); x > most {
					found, most = s, x
				}
			}
		}
	}
	return found, most
}

func inside(s *series, g *group) bool {
	for _, t := range g.of {
		if s.at < t.at+t.size() && t.at < s.at+s.size() {
			return true
		}
	}
	return false
}

func fitsSum(s *series, total []float64, middle, fuzz, size float64) float64 {
	if math.Abs(s.x[0]-total[0]) > 0.01*size+3*fuzz {
		return 0
	}
	off := make([]float64, len(total))
	for r := range total {
		off[r] = s.x[r] - total[r]
		if math.Abs(off[r]) > 0.006*size+3*(fuzz+s.step/2) {
			return 0
		}
	}
	x := median(off) / middle
	w := (fuzz + s.step/2) / middle
	return math.Log(0.7*gaussian(x, 0.0001+0.7*w)+0.3*gaussian(x, 0.002*size/middle+w)) - 2.3
}

// meanFollows reports that the register after a group, or after slots that are
// empty, is its mean.
func (l *library) meanFollows(g *group) bool { return l.meanAfter(g) != nil }

// meanAfter is that mean, or nil.
func (l *library) meanAfter(g *group) *series {
	n := len(g.of)
	if n < 2 || g.stride > byQuantity {
		return nil
	}
	s := l.at(g.form, place{g.table, g.at + n*g.stride})
	if n == 2 && s != nil && s.zero() {
		s = l.at(g.form, place{g.table, g.at + 3*g.stride})
	}
	if s == nil || !s.moves() {
		return nil
	}
	live := 0.
	for _, t := range g.of {
		if !t.zero() {
			live++
		}
	}
	unlike := false
	for r := range s.x {
		mean := 0.
		for _, t := range g.of {
			mean += t.x[r] / live
		}
		if math.Abs(s.x[r]-mean) > 0.6*s.step+1e-5*mean {
			return nil
		}
		unlike = unlike || math.Abs(g.of[0].x[r]-mean) > 3*s.step+3e-4*mean
	}
	if !unlike {
		return nil
	}
	return s
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
