package learn

import (
	"math"

	"legwork/probe/reading"
)

// view is an explanation with the power of ten of its currents: all values in SI.
type view struct {
	*explanation
	ampere int     // amperes = value x 10^ampere
	log    float64 // of its weight, before they add up to one
	weight float64
}

// watt is the power of ten of the powers.
func (v *view) watt() int { return v.v.ten + v.ampere - v.explanation.ten }

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

// apparent is volts times amperes of a channel.
func (v *view) apparent(channel int) float64 {
	volts, _ := v.at(reading.Point{Quantity: reading.Voltage, Index: channel})
	amps, _ := v.at(reading.Point{Quantity: reading.Current, Index: channel})
	return volts * amps
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
		if a.turned(b) {
			return false
		}
		loose := copied || single || a.covers(b) || a.elsewhere(b) && (a != v.p || v.one < 3)
		exact := a.moves() && (a != v.p || v.apart() && w.apart()) || a.float() && b.float() && v.one < 3
		return (loose || exact) && sameValues(a, b, tenA, tenB, slack, loose)
	}
	none := func(int) float64 { return 0 }
	half := func(channel int) float64 { return v.apparent(channel) / 2 }
	return like(v.v.group, w.v.group, v.v.ten, w.v.ten, none), like(v.i, w.i, v.ampere, w.ampere, none),
		like(v.p, w.p, v.watt(), w.watt(), half)
}

// apart reports an apparent power that isn't the active one as well.
func (v *view) apart() bool { return v.s != nil && !equal(v.s, v.p) }

// sameValues allows for the step of the coarser one, and for another instant: on the
// whole there may be no more between them than loads change from one to the other.
// slack is what else a channel's size may be taken as. Where they are no copies
// they have to be equal to the last digit.
func sameValues(a, b *group, tenA, tenB int, slack func(channel int) float64, copied bool) bool {
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

// sure is a probability for what one weighing gave.
func (v *view) sure(what string) float64 { return 1 - 0.5*math.Exp(-math.Max(0, v.gave(what))) }
