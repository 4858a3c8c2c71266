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
			v.weight = e.score + v.logScale() + v.logShown(measured)
			if most := measuredTo(measured); most > 0 && len(e.v.of) > most {
				v.weight -= 14
			}
			out = append(out, v)
		}
	}
	normalise(out, measured)
	return out
}

// logShown weighs what was measured, in the middle of the rounds or after them.
func (v *view) logShown(measured []Measured) float64 {
	if len(measured) == 0 {
		return 0
	}
	return math.Max(v.logShownAt(measured, func(s *series) float64 { return s.mid }),
		v.logShownAt(measured, func(s *series) float64 { return s.x[len(s.x)-1] }))
}

func (v *view) logShownAt(measured []Measured, of func(*series) float64) float64 {
	w := 0.
	for _, m := range measured {
		if x, ok := v.when(m.Point, of); ok {
			w += m.logFit(x, v.apparent(m.Point.Index))
		} else if m.Point.Channel() > 0 && m.Point.Quantity <= reading.Power {
			w -= 6 // a channel that isn't there was measured
		}
	}
	return w
}

// bestShown is the same for the power of ten that suits best.
func (e *explanation) bestShown(measured []Measured) float64 {
	if len(measured) == 0 {
		return 0
	}
	most := math.Inf(-1)
	for ampere := -4; ampere <= 1; ampere++ {
		v := view{explanation: e, ampere: ampere}
		if !e.i.float() || ampere == 0 {
			most = math.Max(most, v.logShown(measured))
		}
	}
	return most
}

// somethingElse is the score of all that isn't thought of, in a meter that holds
// no such quantities or holds them in another way. Set by the bench of layouts.
const somethingElse = 7.5

// apparent is volts times amperes of a channel.
func (v *view) apparent(channel int) float64 {
	volts, _ := v.at(reading.Point{Quantity: reading.Voltage, Index: channel})
	amps, _ := v.at(reading.Point{Quantity: reading.Current, Index: channel})
	return volts * amps
}

// measuredTo is the last channel that was measured, where all its quantities were.
func measuredTo(measured []Measured) int {
	most := 0
	for _, m := range measured {
		most = max(most, m.Point.Channel())
	}
	if len(measured) < 3*most {
		return 0
	}
	return most
}

func (v *view) logScale() float64 {
	if v.i.float() {
		if v.ampere == 0 {
			return -0.01
		}
		return -7
	}
	if watt := v.watt(); watt < -3 || watt > 3 {
		return -30
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
	return v.when(p, func(s *series) float64 { return s.mid })
}

// when is the value of a point at the time that of takes.
func (v *view) when(p reading.Point, of func(*series) float64) (float64, bool) {
	one := func(g *group, ten int) (float64, bool) {
		if g == nil || p.Index < 1 || p.Index > len(g.of) {
			return 0, false
		}
		return of(g.of[p.Index-1]) * math.Pow10(ten), true
	}
	switch p.Quantity {
	case reading.Voltage:
		return one(v.v.group, v.v.ten)
	case reading.Current:
		return one(v.i, v.ampere)
	case reading.Power:
		return one(v.p, v.watt())
	case reading.Reactive:
		return one(v.q, v.watt())
	case reading.Apparent:
		return one(v.s, v.watt())
	case reading.TotalPower:
		sum := 0.
		for _, s := range v.p.of {
			sum += of(s)
		}
		return sum * math.Pow10(v.watt()), true
	}
	return 0, false
}

// agree reports views that mean the same: volts, amperes and watts of all
// channels alike.
func (v *view) agree(w *view) bool {
	volts, amps, watts := v.likeness(w)
	return volts && amps && watts
}

// likeness tells in which quantities two views agree. They may have read the
// same registers, or all of them a second copy. What is equal beside the same
// voltages is another quantity.
func (v *view) likeness(w *view) (volts, amps, watts bool) {
	if len(v.v.of) != len(w.v.of) {
		return false, false, false
	}
	copied := !v.v.covers(w.v.group) && !v.i.covers(w.i) && !v.p.covers(w.p)
	single := len(v.v.of) == 1 && v.one < 3 // means and totals are the channel's own
	like := func(a, b *group, tenA, tenB int, slack func(int) float64) bool {
		loose := copied || single || a.covers(b) || a.elsewhere(b) && (a != v.p || v.one < 3)
		return (loose || a.float() && b.float() && v.one < 3) && same(a, b, tenA, tenB, slack, loose)
	}
	none := func(int) float64 { return 0 }
	half := func(channel int) float64 { return v.apparent(channel) / 2 }
	return like(v.v.group, w.v.group, v.v.ten, w.v.ten, none), like(v.i, w.i, v.ampere, w.ampere, none),
		like(v.p, w.p, v.watt(), w.watt(), half)
}

// elsewhere reports groups that stand in different parts of a meter's registers,
// or in different forms: what is equal there is a copy.
func (g *group) elsewhere(other *group) bool {
	return g.table != other.table || g.size() != other.size() || g.at-other.at > 30 || other.at-g.at > 30
}

// covers reports groups of the same registers, whole or in part.
func (g *group) covers(other *group) bool {
	return g == other || g.table == other.table && g.stride == other.stride && inside(g.of[0], alone(other.of[0]))
}

// same allows for the step of the coarser one, and for another instant: on the
// whole there may be no more between them than loads change from one to the other.
// slack is what else a channel's size may be taken as. Where they are no copies
// they have to be equal to the last digit.
func same(a, b *group, tenA, tenB int, slack func(channel int) float64, copied bool) bool {
	if a == b {
		return tenA == tenB
	}
	scaleA, scaleB := math.Pow10(tenA), math.Pow10(tenB)
	for k := range a.of {
		s, t := a.of[k], b.of[k]
		size := math.Max(slack(k+1), math.Max(s.most()*scaleA, t.most()*scaleB))
		fuzz := 0.6*(s.step*scaleA+t.step*scaleB) + 0.0025*size
		n, mean, squares, worst := float64(len(s.x)), 0., 0., 0.
		for r := range s.x {
			off := s.x[r]*scaleA - t.x[r]*scaleB
			mean += off / n
			squares += off * off / n
			worst = math.Max(worst, math.Abs(off))
		}
		if !copied && worst > 1e-6*size {
			return false
		}
		if worst > fuzz+0.06*size || math.Abs(mean) > fuzz+2*math.Sqrt(squares/n) {
			return false
		}
	}
	return true
}
