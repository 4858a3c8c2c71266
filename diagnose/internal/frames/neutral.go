package frames

import (
	"math"
	"math/cmplx"

	"legwork/diagnose/internal/evidence"
	"legwork/diagnose/internal/gaussian"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// Whether the service's neutral holds. Where it is lost the loads between legs
// and neutral pull its potential to where their currents cancel (Millman's
// theorem): the voltages of the legs part, those between the legs stay, and every
// change of load moves the neutral again. At light or even load they part by
// little, long before any voltage is beyond its limits.
//
// Two things are weighed, each against a neutral that holds: how far the neutral
// lies from the middle of the legs, and how far a change of load moves it.
// Against a voltage input that is weak by itself: that pulls down one alone.

// Spreads per unit of nominal, and shares. Assumptions of ours about ordinary
// supplies, no source; an unbalance of 3 % is what a service may have without
// load (ANSI C84.1, annex, from memory).
const (
	priorNeutralLost = 0.002 // a site where it is
	neutralHazard    = 1e-4  // that it goes between two changes of load
	priorWeakInput   = 0.004 // one input low by itself

	levelSpread = 0.04 // of all voltages together

	evenSpread  = 0.008 // of the neutral's place where it holds
	unevenShare = 0.03
	unevenBy    = 0.014

	stillSpread = 0.004 // of a move of the neutral where it holds
	droopShare  = 0.1   // of the changes of load move it through the wires' resistance
	droopBy     = 0.012

	lostBy     = 0.15 // mean distance of a lost one
	lostMove   = 0.04 // mean move of a lost one by a change of load
	evenChange = 0.5  // of those changes, the share that leaves it where it is
	farMoves   = 0.2  // of the others, those that move it as far as lostBy in the mean

	strayShare = 1e-3 // of the readings have a voltage that was spoilt on the way, anywhere within one per unit

	levelMove = 0.02  // of the level, by the supply, from one state to the next
	mostOdds  = 1e100 // so that they stay a number, and no later state unsays them
)

// legVolts is what the inputs say of the neutral's place, per unit of nominal.
type legVolts struct {
	level float64    // the mean of the voltages
	place complex128 // of the neutral, from the middle of the legs
	least float64    // the lowest voltage
	legs  int        // 2, of which the place is real, or 3
}

// placeOf finds the neutral among the legs' voltages; ok is false where one isn't
// known or the service has no neutral between legs.
func placeOf(s wiring.Service, volts [3]float64) (v legVolts, ok bool) {
	e := s.LegPhasors(wiring.Forward)
	v.least = math.Inf(1)
	for m := range s.Legs() {
		if !BearsNeutral(s, m) {
			continue
		}
		if volts[m] <= 0 {
			return v, false
		}
		size := volts[m] / s.Nominal
		v.legs++
		v.level += size
		v.least = math.Min(v.least, size)
		v.place -= complex(size, 0) * axis(s, e, m)
	}
	if v.legs < 2 || s.Kind == wiring.Delta {
		return v, false
	}
	v.level /= float64(v.legs)
	v.place *= complex(2/float64(v.legs), 0) / complex(1+float64(btoi(v.legs == 2)), 0)
	return v, true
}

// BearsNeutral reports the legs between which the neutral lies: on a four-wire
// delta those at its ends.
func BearsNeutral(s wiring.Service, m int) bool {
	return s.Kind != wiring.HighLegDelta || cmplx.Abs(s.LegPhasors(wiring.Forward)[m]) < 1.3
}

// axis is the direction of a leg; of two legs, the one or the other way.
func axis(s wiring.Service, e [3]complex128, m int) complex128 {
	if s.Kind == wiring.Wye {
		return e[m]
	}
	for o := range m {
		if BearsNeutral(s, o) {
			return -1
		}
	}
	return 1
}

func btoi(b bool) int {
	if b {
		return 1
	}
	return 0
}

// gaussian is the density about nothing of a place in the plane, or on the line
// between two legs.
func (v *legVolts) gaussian(at complex128, spread float64) float64 {
	if v.legs == 2 {
		return gaussian.Line(cmplx.Abs(at), spread)
	}
	return gaussian.Plane(at, spread)
}

// peaked is an exponential density about nothing in one dimension or two.
func (v *legVolts) peaked(at complex128, mean float64) float64 {
	p := math.Exp(-cmplx.Abs(at)/mean) / (2 * mean)
	if v.legs == 3 {
		p /= math.Pi * mean
	}
	return p
}

// oddsOfPlace is how much likelier a lost neutral makes the voltages of one
// state than one that holds.
func (v *legVolts) oddsOfPlace(s wiring.Service) float64 {
	level := func(want float64) float64 { return gaussian.Line(v.level-want, levelSpread) }
	holds := level(1) * ((1-unevenShare)*v.gaussian(v.place, evenSpread) + unevenShare*v.gaussian(v.place, unevenBy))
	// two legs at 120 degrees with the neutral on the line between them
	lost := level(math.Sqrt(1-math.Pow(float64(btoi(s.Kind == wiring.WyeLegs))/2, 2))) * v.peaked(v.place, lostBy)
	return lost / (holds + priorWeakInput*v.weak() + strayShare*v.anywhere()/2) // a spoilt level may be any up to two
}

// weak is the density of one input that is low by itself, by any share, while
// the others stand alike: then the level and the place go with its loss.
func (v *legVolts) weak() float64 {
	return gaussian.Line(v.others()-1, levelSpread) * v.aside() / 0.9
}

// others is the level of the others then.
func (v *legVolts) others() float64 {
	loss := cmplx.Abs(v.place) * float64(v.legs) / 2 // of a wye the place is two thirds of it
	if v.legs == 2 {
		loss = 2 * cmplx.Abs(v.place)
	}
	return v.level + loss/float64(v.legs)
}

// aside is how well the place lies in the direction of one leg, with the measure
// of voltages turned into that of level and place.
func (v *legVolts) aside() float64 {
	if v.legs == 2 {
		return 1
	}
	best := math.Inf(1)
	for _, e := range [3]complex128{1, polar(120), polar(-120)} {
		best = math.Min(best, math.Abs(imag(v.place*e))+math.Max(0, -real(v.place*e)))
	}
	return gaussian.Line(best, evenSpread) / 2
}

func polar(degrees float64) complex128 { return cmplx.Rect(1, degrees*math.Pi/180) }

// oddsOfMove is the same of a change of load.
func (v *legVolts) oddsOfMove(next *legVolts) float64 {
	move, level := next.place-v.place, next.level-v.level
	size := cmplx.Abs(move)
	// what droops by the wires' resistance takes the level along
	holds := (1-droopShare)*v.gaussian(move, stillSpread) + droopShare*v.gaussian(move, droopBy)*droopOf(level, size) +
		priorWeakInput*v.slip(next) + strayShare*v.anywhere()
	swings := (1-farMoves)*v.peaked(move, lostMove) + farMoves*v.peaked(move, lostBy)
	lost := evenChange*v.gaussian(move, stillSpread) + (1-evenChange)*swings*v.swing(next)
	return lost / holds
}

// anywhere is the even density within one per unit.
func (v *legVolts) anywhere() float64 {
	if v.legs == 2 {
		return 1.0 / 2
	}
	return 1 / math.Pi
}

// slip is the density of one input that goes low by itself, or comes back, while the
// others stay as they were: a contact that is poor moves no neutral.
func (v *legVolts) slip(next *legVolts) float64 {
	away, back := next.aside()/0.9, next.gaussian(next.place, evenSpread)
	return (away + back) / 2 * stays(next.others()-v.others())
}

// swing is how well the level fits a neutral that moves from one place to the other. With
// |V_k| = |E_k - P| in a wye, to the second order,
//
//	mean |V_k| = 1 + |P|^2 / 4
//
// and of two legs it stays.
func (v *legVolts) swing(next *legVolts) float64 {
	want := 0.0
	if v.legs == 3 {
		was, is := cmplx.Abs(v.place), cmplx.Abs(next.place)
		want = (is*is - was*was) / 4
	}
	return stays(next.level - v.level - want)
}

// stays is how well a change of the level goes with a supply that nothing else changed.
func stays(change float64) float64 { return math.Exp(-change * change / (2 * levelMove * levelMove)) }

// droopOf is how well the level goes with the place where wires droop, against
// its staying: a leg's own wire adds as much to the level as to the place, the
// neutral's adds nothing.
func droopOf(level, size float64) float64 {
	part := math.Abs(level) / math.Max(size, stillSpread)
	return 0.2 + 0.8*math.Min(1, 5*part)
}

// NeutralLost is the probability that the neutral is lost: of the service that the
// voltages fit, from what it did over the changes of load or from where it lies by the last
// voltages, or of any from where it lies far away, whichever says most. Where no service is
// taken to hold, by inputs that are mislanded or a wrong declaration, only the last counts.
func NeutralLost(s, declared *wiring.Service, h *evidence.History, last *reading.Reading) float64 {
	far := fartherLost(last, declared)
	if s == nil {
		return far
	}
	return math.Max(far, NearLost(*s, h, last))
}

// NearLost is the same of a service all of whose inputs read their voltage.
func NearLost(s wiring.Service, h *evidence.History, last *reading.Reading) float64 {
	odds := 0.0
	var before *legVolts
	for i := range h.States {
		now, ok := placeOf(s, h.States[i].Volts())
		switch {
		case !ok:
			continue
		case before == nil:
			odds = math.Min(mostOdds, priorNeutralLost*now.oddsOfPlace(s))
		case !h.States[i].Repeats:
			odds = math.Min(mostOdds, (odds+neutralHazard)*before.oddsOfMove(&now))
		}
		before = &now
	}
	if last, ok := placeOf(s, voltsOf(last)); ok {
		odds = math.Max(odds, math.Min(mostOdds, priorNeutralLost*last.oddsOfPlace(s)))
	}
	return odds / (1 + odds)
}

// Farthest is the voltages of the state in which the neutral lay farthest from the middle
// of the legs; ok is false where the last reading shows as much.
func Farthest(s wiring.Service, h *evidence.History, last *reading.Reading) (volts [3]float64, ok bool) {
	far := evenSpread
	if v, known := placeOf(s, voltsOf(last)); known {
		far += cmplx.Abs(v.place)
	}
	for i := range h.States {
		at := h.States[i].Volts()
		if v, known := placeOf(s, at); known && cmplx.Abs(v.place) > far {
			far, volts, ok = cmplx.Abs(v.place), at, true
		}
	}
	return volts, ok
}
