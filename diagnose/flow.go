package diagnose

import (
	"cmp"
	"math"
	"math/cmplx"
	"slices"

	"legwork/diagnose/wiring"
)

// flow is the power that an explanation implies for one choice of candidates:
// what the legs carry, against what the channels say.
type flow struct {
	share    float64
	measured float64    // W, all judged channels
	actual   float64    // W, all legs
	leg      [3]legFlow // by leg number
	part     [3]part    // by channel
}

// part is what one channel measures and what flows through its CT, in W and
// var, with the current in the leg's own direction, A, as seen from the service.
type part struct {
	seenP, seenQ, trueP, trueQ float64
	current                    complex128
}

// legFlow is the load of one leg, if a CT measures it.
type legFlow struct {
	known bool
	amps  float64
	phi   float64 // degrees
}

// What the angle and the size of a current may be off by, one standard
// deviation: half of what class 1 allows between 5 % and 100 % of the rated
// current (IEC 61869-2, Table 201: 60 to 180 minutes, 1 to 3 %).
const (
	flowAngleSlack = 0.8   // degrees
	flowSizeSlack  = 0.008 // share
	flowNoise      = 0.001 // of the ratio, from steps and noise of the registers
)

// ratioSlack is one standard deviation of measured over actual. An error of a
// CT moves what is measured and what is taken for actual together.
func (so *flow) ratioSlack() float64 {
	var sum float64
	for _, c := range so.part {
		size := (c.seenP*so.actual - so.measured*c.trueP) * flowSizeSlack
		angle := (c.seenQ*so.actual - so.measured*c.trueQ) * flowAngleSlack * math.Pi / 180
		sum += size*size + angle*angle
	}
	return math.Hypot(math.Sqrt(sum)/(so.actual*so.actual), flowNoise)
}

// certain reports that the true power is well above what errors could make of nothing.
func (so *flow) certain() bool {
	var sum float64
	for _, c := range so.part {
		size, angle := c.trueP*flowSizeSlack, c.trueQ*flowAngleSlack*math.Pi/180
		sum += size*size + angle*angle
	}
	return math.Abs(so.actual) >= 3*math.Sqrt(sum)
}

// flows lists what a group's likeliest member implies, the likeliest choice of
// candidates first; nil where some leg isn't measured.
func (p *posterior) flows(g *group) []flow { return p.flowsOf(g.members[0].number, &p.frames[g.frame]) }

// flowsOf lists what one arrangement under one frame implies.
func (p *posterior) flowsOf(number int, f *frame) []flow {
	sc := newScene(f, &p.now)
	sc.generation = p.generation
	a := newArranged(number, p.judgedUnder(f), [2]float64{})
	var all []flow
	sc.spread(0, &a, flow{share: 1}, &all)
	var sum float64
	for i := range all {
		sum += all[i].share
	}
	for i := range all {
		all[i].share /= sum
	}
	slices.SortStableFunc(all, func(x, y flow) int { return cmp.Compare(y.share, x.share) })
	return all
}

// spread goes through the candidates of channel k and those after it.
func (sc *scene) spread(k int, a *arranged, so flow, all *[]flow) {
	for k < 3 && a.digit[k] < 0 {
		k++
	}
	if k == 3 {
		so.share *= sc.at(sc.axesOf(&so))
		if so.share > 0 {
			sc.total(&so, a)
			*all = append(*all, so)
		}
		return
	}
	s, digit := &sc.sights[k], a.digit[k]
	seen := &sc.seen[k][digit]
	for i := range seen.n {
		next := so
		next.share *= seen.share[i]
		if a.same[1] == k && k > 0 {
			next.share *= sc.coincide(a, i)
		}
		theta := (seen.phi[i] + sc.offset(k, digit)) * math.Pi / 180
		sin, cos := math.Sincos(theta)
		current := cmplx.Rect(s.working, cmplx.Phase(sc.inputVolts(k))-theta)
		if digit%2 == 1 {
			current = -current
		}
		next.part[k] = part{seenP: s.watts.Or(s.volts * s.working * cos), seenQ: s.volts * s.working * sin, current: current}
		next.measured += next.part[k].seenP
		next.leg[digit/2] = legFlow{true, s.working, seen.phi[i]}
		sc.spread(k+1, a, next, all)
	}
}

func (sc *scene) axesOf(so *flow) [3]int {
	at := [3]int{-1, -1, -1}
	for m, l := range so.leg {
		if l.known {
			at[sc.axis[m]] = cell(l.phi)
		}
	}
	return at
}

// total adds up the true power: of every channel, its voltage when its input is
// right times the current of the leg where its CT belongs (Blondel: with one
// conductor as the common point one element fewer than conductors is enough). On
// a three-wire delta the leg without a CT carries the others' currents back.
func (sc *scene) total(so *flow, a *arranged) {
	s := sc.frame.service
	for k, d := range a.digit {
		if d < 0 || a.same[1] == k && k > 0 {
			continue // of two CTs on one leg the first counts
		}
		var power complex128
		for j := range s.Channels() {
			home := int(s.HomeLeg(wiring.Channel(j+1))) - 1
			power += sc.homeVolts(j) * cmplx.Conj(so.part[k].current*complex(returns(s, so, d/2, home), 0))
		}
		so.part[k].trueP, so.part[k].trueQ = real(power), imag(power)
		so.actual += real(power)
	}
}

// returns is the share of the current of a leg, on which a CT sits, that flows
// in the leg that is asked for.
func returns(s wiring.Service, so *flow, leg, in int) float64 {
	switch {
	case leg == in:
		return 1
	case s.Kind == wiring.Delta && !so.leg[in].known:
		return -1
	}
	return 0
}

// homeVolts is the voltage, V, that input j should read: what it does read where
// it sits on its own conductors.
func (sc *scene) homeVolts(j int) complex128 {
	if sc.standsHome(j) {
		return sc.inputVolts(j)
	}
	in := sc.frame.service.InputPhasors(sc.frame.sequence)
	return in[j] * complex(sc.frame.service.Nominal, 0)
}

// inputVolts is the voltage of input k, V: measured in size and, where every
// input's angle was, in angle; else the frame's.
func (sc *scene) inputVolts(k int) complex128 {
	size, at := cmplx.Abs(sc.frame.input[k])*sc.frame.service.Nominal, cmplx.Phase(sc.frame.input[k])
	if v := sc.sights[k].volts; v > 0 {
		size = v
	}
	first := -1
	for j := range sc.frame.service.Channels() {
		if !sc.frame.usable[j] {
			continue
		}
		if !sc.sights[j].voltsAt.Known() {
			return cmplx.Rect(size, at)
		}
		if first < 0 {
			first = j
		}
	}
	if first >= 0 && sc.frame.usable[k] {
		turn := sc.sights[k].voltsAt.Or(0).Minus(sc.sights[first].voltsAt.Or(0))
		at = cmplx.Phase(sc.frame.input[first]) + turn.Radians()
	}
	return cmplx.Rect(size, at)
}

// standsHome reports whether input j reads what it should.
func (sc *scene) standsHome(j int) bool {
	s := sc.frame.state[j]
	return s == InputLive || s == InputLow || s == InputHigh
}
