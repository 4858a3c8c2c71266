package learn

import (
	"math"
	"slices"
)

// factorGroups lists what could be power factors beside an anchor.
func (l *library) factorGroups(a *anchor, c context) []*group {
	var all []*group
	for _, f := range c {
		for _, p := range l.places(f) {
			if p.table != a.table || !inReach(a.group, p.at) {
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
		if overlap(g, e.i) || overlap(g, e.p) {
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
	e.add("pf = P / S", math.Max(0, math.Min(12, most)-0.5*math.Log(float64(1+len(all)))))
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
		if share == nil {
			continue
		}
		s := g.of[k]
		off := make([]float64, len(share))
		for r := range share {
			off[r] = math.Abs(s.x[r])*scale - math.Abs(share[r])
		}
		size := math.Abs(e.mid[k])
		fuzz := s.coarse(s.most())*s.most()*scale + size*e.fuzz[k]
		x := median(off)
		worst := math.Max(math.Abs(slices.Max(off)), math.Abs(slices.Min(off)))
		one := math.Log(0.8*bell(x, 0.0004+fuzz) + 0.15*bell(x, 0.004+fuzz) + 0.01)
		if worst > 0.02+3*fuzz {
			one -= 3
		}
		score += math.Max(-4, math.Min(5, one))
	}
	return score, ten
}
