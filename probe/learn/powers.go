package learn

import (
	"math"
	"slices"

	"legwork/probe/regmap"
)

// addApparent looks among the powers of the same current for one that is V I
// itself, and for one that is the reactive power.
func (e *explanation) addApparent(others []*explanation) {
	bestS, bestQ := 0., 0.
	e.rivals = others
	for _, o := range others {
		if o.ten == e.ten+1 && o.one > 3*float64(len(o.p.of)) && alongside(o.p, e.p) && !overlap(o.p, e.p) && !e.i.float() {
			e.lower()
		}
		if o.ten != e.ten || !alongside(o.p, e.p) || o == e || overlap(o.p, e.p) || equal(o.p, e.p) {
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
	e.add("S = V I", math.Max(0, math.Min(24, bestS)-math.Log(float64(1+len(others)))))
	e.add("P2 + Q2 = S2", math.Min(5, bestQ))
	if e.q != nil && e.q.at < e.p.at {
		e.add("order of P and Q", -4)
	}
	if e.s != nil && e.s.at < e.p.at {
		e.add("order of P and S", -1.2)
	}
	if e.s == nil && e.one > 3*float64(len(e.p.of)) {
		e.add("power is apparent", -2-math.Max(0, e.given("steady")-2*float64(len(e.p.of))))
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
		x := farFromOne(share)
		sum += math.Min(9, math.Log(2.3*(0.7*bell(x, 0.00005+0.7*e.fuzz[k])+0.25*bell(x, 0.003+e.fuzz[k]))+1e-4))
	}
	return sum
}

// farFromOne is how far a share is from one on the whole, but for one round in
// which a load was switched.
func farFromOne(share []float64) float64 {
	sum, worst := 0., 0.
	for _, x := range share {
		off := math.Abs(x - 1)
		sum += off
		worst = math.Max(worst, off)
	}
	return (sum - worst) / math.Max(1, float64(len(share)-1))
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
		// Any small number fits where nearly all is the one power: of numbers that are
		// alike by their logarithm, over six decades, few are as large as what fits else.
		telling := math.Log(math.Min(1, 28*s*s+1e-3))
		sum += math.Max(-3, math.Min(4, math.Log(0.5*bell(x, 0.0003+fuzz)+0.3*less+1e-3)+math.Log(0.8)+telling))
	}
	return sum
}

// addTotals finds the sums of the powers.
func (e *explanation) addTotals(l *library, c context) {
	if !slices.ContainsFunc(c, func(f form) bool { return f.typ == regmap.S32 || f.float() }) { // sums need more room
		c = append(slices.Clone(c), form{regmap.S32, regmap.ABCD}, form{regmap.S32, regmap.CDAB})
	}
	var x float64
	e.pt, x = l.totalOf(e.p, c)
	e.add("total power", math.Min(6, x))
	if e.q != nil {
		e.qt, x = l.totalOf(e.q, c)
		e.add("total reactive power", math.Min(3, x))
	}
}

// totalOf finds the register that is the sum of a group, and weighs it against a
// number that is any.
func (l *library) totalOf(g *group, c context) (*series, float64) {
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
	most := 0.
	for _, f := range c {
		for _, p := range l.places(f) {
			s := l.shelves[f][p]
			if s == nil || p.table != g.table || s.typ == regmap.S32 && s.same || inside(s, g) {
				continue
			}
			if x := fitsSum(s, total, middle, fuzz, size); x > 0 {
				if x -= 0.3 * math.Log(1+math.Abs(float64(p.at-g.last()))); x > most {
					found, most = s, x
				}
			}
		}
	}
	return found, most
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
	return math.Log(0.7*bell(x, 0.0001+0.7*w)+0.3*bell(x, 0.002*size/middle+w)) - 2.3
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
	most, all := math.Inf(-1), math.Exp(noReactive)
	var found *group
	for _, o := range e.rivals {
		x := e.squares(o)
		if o == e || x < -3 || o.ten != e.ten || !alongside(o.p, e.p) || e.uses(o.p) || equal(o.p, e.p) {
			continue
		}
		total, fits := l.totalOf(o.p, c)
		x += math.Min(5, fits-1) - 0.4*math.Log(1+math.Abs(float64(o.p.at-e.p.at))/4)
		if o.p.at < e.p.at {
			x -= 2.5
		}
		if o.p.zeroBeside() {
			x -= 3
		}
		if o.p.size() != e.p.size() && extendsEither(o.p) == extendsEither(e.p) {
			x -= 2
		}
		if all += math.Exp(x); x > most {
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
	e.ofReactive = math.Exp(most) / all
}

// noReactive is the weight of there being no reactive power among the candidates.
// Our choice.
const noReactive = -0.5

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
