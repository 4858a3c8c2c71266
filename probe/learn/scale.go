package learn

import (
	"math"
	"slices"

	"legwork/probe/reading"
)

// view is an explanation with the power of ten of its currents: all values in SI.
type view struct {
	*explanation
	ampere int // amperes = value x 10^ampere
	weight float64
}

// watt is the power of ten of the powers.
func (v *view) watt() int { return v.v.ten + v.ampere - v.explanation.ten }

// What meters' registers are worth, as probabilities by power of ten. Our
// choice, no source; made flatter where they are used.
var (
	amperes = map[int]float64{-4: 0.01, -3: 0.35, -2: 0.35, -1: 0.2, 0: 0.08, 1: 0.01}
	watts   = map[int]float64{-3: 0.04, -2: 0.08, -1: 0.2, 0: 0.42, 1: 0.15, 2: 0.06, 3: 0.05}
)

// views spreads explanations over the powers of ten that their currents can
// have, and weighs them by what was measured. Weights add up to one.
func views(all []*explanation, measured []Measured) []*view {
	var out []*view
	for _, e := range all {
		for ampere := -4; ampere <= 1; ampere++ {
			v := &view{explanation: e, ampere: ampere}
			w := e.score + v.logScale()
			for _, m := range measured {
				if x, ok := v.at(m.Point); ok {
					w += m.logFit(x)
				} else if m.Point.Channel() > 0 && m.Point.Quantity <= reading.Power {
					w -= 6 // a channel that isn't there was measured
				}
			}
			v.weight = w
			out = append(out, v)
		}
	}
	normalise(out, measured)
	return out
}

// somethingElse is the score of all that isn't thought of, in a meter that holds
// no such quantities or holds them in another way. Set by the bench of layouts.
const somethingElse = 7.5

func (v *view) logScale() float64 {
	if v.i.float() {
		if v.ampere == 0 {
			return -0.01
		}
		return -7
	}
	current := v.i.most() * math.Pow10(v.ampere)
	size := math.Log(math.Max(current, 1e-3)/30) / 2.5
	return 0.6*(math.Log(amperes[v.ampere]+1e-4)+math.Log(watts[v.watt()]+1e-4)) - size*size/2
}

// normalise makes probabilities of weights. Whatever an instrument shows may be
// under something else.
func normalise(all []*view, measured []Measured) {
	slices.SortStableFunc(all, func(a, b *view) int {
		switch {
		case a.weight > b.weight:
			return -1
		case a.weight < b.weight:
			return 1
		}
		return 0
	})
	if len(all) == 0 {
		return
	}
	sum := math.Exp(somethingElse + float64(len(measured))*math.Log(1./8) - all[0].weight)
	for i := len(all) - 1; i >= 0; i-- {
		sum += math.Exp(all[i].weight - all[0].weight)
	}
	top := all[0].weight
	for _, v := range all {
		v.weight = math.Exp(v.weight-top) / sum
	}
}

// at is the value of a point as the view has it, in the middle of the rounds.
func (v *view) at(p reading.Point) (float64, bool) {
	of := func(g *group, ten int) (float64, bool) {
		if g == nil || p.Index > len(g.of) {
			return 0, false
		}
		return median(g.of[p.Index-1].x) * math.Pow10(ten), true
	}
	switch p.Quantity {
	case reading.Voltage:
		return of(v.v.group, v.v.ten)
	case reading.Current:
		return of(v.i, v.ampere)
	case reading.Power:
		return of(v.p, v.watt())
	case reading.Reactive:
		return of(v.q, v.watt())
	case reading.Apparent:
		return of(v.s, v.watt())
	case reading.TotalPower:
		sum := 0.
		for _, s := range v.p.of {
			sum += median(s.x)
		}
		return sum * math.Pow10(v.watt()), true
	}
	return 0, false
}

// agree reports views that mean the same: volts, amperes and watts of all
// channels alike in every round, to the step of the registers.
func (v *view) agree(w *view) bool {
	return len(v.v.of) == len(w.v.of) && same(v.v.group, w.v.group, v.v.ten, w.v.ten) &&
		same(v.i, w.i, v.ampere, w.ampere) && same(v.p, w.p, v.watt(), w.watt())
}

// same allows for the step of the coarser one, and for another instant.
func same(a, b *group, tenA, tenB int) bool {
	if a == b {
		return tenA == tenB
	}
	scaleA, scaleB := math.Pow10(tenA), math.Pow10(tenB)
	for k := range a.of {
		s, t := a.of[k], b.of[k]
		if s == t {
			continue
		}
		fuzz := 0.6*(s.step*scaleA+t.step*scaleB) + 0.0025*math.Max(s.most()*scaleA, t.most()*scaleB)
		moved := 0.
		for r := range s.x {
			x, y := s.x[r]*scaleA, t.x[r]*scaleB
			if math.Abs(x-y) > fuzz {
				return false
			}
			moved += math.Abs(x - y)
		}
		if s.moves() != t.moves() && moved > fuzz {
			return false
		}
	}
	return true
}
