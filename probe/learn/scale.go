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

// What one count of a register is worth, as probabilities by power of ten, where
// its width allows all. Our choice, no source.
var (
	amperes = map[int]float64{-4: 0.01, -3: 0.35, -2: 0.35, -1: 0.25, 0: 0.04}
	watts   = map[int]float64{-3: 0.05, -2: 0.1, -1: 0.25, 0: 0.4, 1: 0.15, 2: 0.04, 3: 0.01}
)

// leastCounts is how many steps a meter's register has at least at what the meter
// is made for: three digits. Our choice.
const leastCounts = 1000

// views spreads explanations over the powers of ten that their currents can
// have, and weighs them by what was measured. Weights add up to one.
func views(all []*explanation, measured []Measured) []*view {
	var out []*view
	for _, e := range all {
		for ampere := leastAmpere; ampere <= mostAmpere; ampere++ {
			v := &view{explanation: e, ampere: ampere}
			v.weight = e.score + v.logScale() + v.logShown(measured)
			if measuredTo(measured) == 1 && len(e.v.of) > 1 {
				v.weight -= 8 // there might be more than was measured
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

// bestShown is the same for the power of ten that suits best, of those that
// something measured asks for.
func (e *explanation) bestShown(measured []Measured) float64 {
	most := math.Inf(-1)
	if len(measured) == 0 {
		return 0
	}
	asked := map[int]bool{0: e.i.float()}
	for _, m := range measured {
		v := view{explanation: e}
		if x, ok := v.valueOf(m.Point); ok && x != 0 && m.Value != 0 && m.Point.Quantity != reading.Voltage && !e.i.float() {
			asked[int(math.Round(math.Log10(m.Value/math.Abs(x))))] = true
		}
	}
	for ampere, is := range asked {
		if v := (view{explanation: e, ampere: ampere}); is && ampere >= leastAmpere && ampere <= mostAmpere {
			most = math.Max(most, v.logShown(measured))
		}
	}
	return math.Max(most, -8*float64(len(measured)))
}

// Powers of ten that currents can have.
const leastAmpere, mostAmpere = -4, 1

// somethingElse is the score of all that isn't thought of, in a meter that holds
// no such quantities or holds them in another way. Set by the bench of layouts.
const somethingElse = 7.5

// apparent is volts times amperes of a channel.
func (v *view) apparent(channel int) float64 {
	volts, _ := v.valueOf(reading.Point{Quantity: reading.Voltage, Index: channel})
	amps, _ := v.valueOf(reading.Point{Quantity: reading.Current, Index: channel})
	return volts * amps
}

// logScale weighs a power of ten of the currents by what meters are made for: the
// register must hold the meter's rating, with enough digits, and what flows now
// is some part of it. Ratings are taken as alike by their logarithm.
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
	volts := v.v.most() * math.Pow10(v.v.ten)
	now := v.i.most() * math.Pow10(v.ampere)
	sum := 1e-6
	const ratings = 24
	for n := range ratings {
		rating := 10 * math.Pow(200, (float64(n)+0.5)/ratings) // 10 A to 2 kA
		steps := stepProbability(rating, v.ampere, amperes, v.i, 65535) *
			stepProbability(rating*volts, v.watt(), watts, v.p, 32767)
		sum += steps * loading(now/rating) / ratings
	}
	return math.Log(sum)
}

// loading is how probable a share of the rating is that flows: alike by its
// logarithm from a hundredth to the whole, less below, hardly more. Our choice.
func loading(share float64) float64 {
	switch {
	case share > 1.3:
		return 0.01
	case share > 0.01:
		return 0.2
	}
	return math.Max(0.002, 20*share)
}

// stepProbability is how probable a step of 10^ten is among those with which a register
// of a group's width holds a rating with enough digits.
func stepProbability(rating float64, ten int, of map[int]float64, g *group, limit float64) float64 {
	if g.long() {
		limit = math.MaxInt32
	}
	sum := 0.001
	this := 0.0001
	for t := leastAmpere; t <= 3; t++ {
		if counts := rating * math.Pow10(-t); counts < limit && counts > leastCounts {
			p := of[t]
			sum += p
			if t == ten {
				this = p
			}
		}
	}
	return this / sum
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

// valueOf is the value of a point as the view has it, in the middle of the rounds.
func (v *view) valueOf(p reading.Point) (float64, bool) {
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
		return (loose || a.float() && b.float() && v.one < 3) && equalInSI(a, b, tenA, tenB, slack, loose)
	}
	none := func(int) float64 { return 0 }
	half := func(channel int) float64 { return v.apparent(channel) / 2 }
	return like(v.v.group, w.v.group, v.v.ten, w.v.ten, none), like(v.i, w.i, v.ampere, w.ampere, none),
		like(v.p, w.p, v.watt(), w.watt(), half)
}

// equalInSI allows for the step of the coarser one, and for another instant: on the
// whole there may be no more between them than loads change from one to the other.
// slack is what else a channel's size may be taken as. Where they are no copies
// they have to be equal to the last digit.
func equalInSI(a, b *group, tenA, tenB int, slack func(channel int) float64, copied bool) bool {
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
		stray := math.Sqrt(math.Max(0, squares-mean*mean))
		if worst > fuzz+0.06*size || math.Abs(mean) > fuzz+2*stray {
			return false
		}
	}
	return true
}

// logFit is the logarithm of how likely an instrument shows what it does where
// the meter reads x. Instruments, CTs and the time between the two allow some
// parts in a hundred; now and then a wrong conductor is measured. A power that is
// small beside its volts times amperes changes by more.
func (m Measured) logFit(x, apparent float64) float64 {
	x = math.Abs(x)
	if x == 0 || m.Value == 0 {
		if small := math.Max(x, m.Value); small < 0.3 {
			return 0
		}
		return -6
	}
	off := math.Log(m.Value / x)
	if m.Point.Quantity == reading.Voltage {
		return math.Log(0.9*bell(off, 0.01) + 0.095*bell(off, 0.04) + 0.005/8)
	}
	if m.Point.Quantity == reading.Power {
		near := math.Min(0.5, math.Hypot(0.03, 0.02*apparent/x))
		return math.Log(0.7*bell(off, near) + 0.27*bell(off, 0.15+2*near) + 0.03/8)
	}
	return math.Log(0.7*bell(off, 0.03) + 0.27*bell(off, 0.15) + 0.03/8)
}
