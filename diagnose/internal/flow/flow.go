package flow

import (
	"cmp"
	"math"
	"math/cmplx"
	"slices"

	"legwork/diagnose/internal/frames"
	"legwork/diagnose/internal/infer"
	"legwork/diagnose/internal/loadmodel"
	"legwork/diagnose/internal/prior"
	"legwork/diagnose/wiring"
)

// Flow is the power that an explanation implies for one choice of candidates:
// what the legs carry, against what the channels say.
type Flow struct {
	share    float64
	measured float64    // W, all judged channels
	actual   float64    // W, all legs
	Leg      [3]LegFlow // by leg number
	part     [3]Part    // by channel
}

// Part is what one channel measures and what flows through its CT, in W and
// var, with the current in the leg's own direction, A, as implied from the service.
type Part struct {
	measuredP, measuredQ, trueP, trueQ float64
	current                            complex128
}

// LegFlow is the load of one leg, if a CT measures it.
type LegFlow struct {
	known bool
	Amps  float64
	Phi   float64 // degrees
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
func (so *Flow) ratioSlack() float64 {
	var sum float64
	for _, c := range so.part {
		size := (c.measuredP*so.actual - so.measured*c.trueP) * flowSizeSlack
		angle := (c.measuredQ*so.actual - so.measured*c.trueQ) * flowAngleSlack * math.Pi / 180
		sum += size*size + angle*angle
	}
	return math.Hypot(math.Sqrt(sum)/(so.actual*so.actual), flowNoise)
}

// certain reports that the true power is well above what errors could make of nothing.
func (so *Flow) certain() bool {
	var sum float64
	for _, c := range so.part {
		size, angle := c.trueP*flowSizeSlack, c.trueQ*flowAngleSlack*math.Pi/180
		sum += size*size + angle*angle
	}
	return math.Abs(so.actual) >= 3*math.Sqrt(sum)
}

// Flows lists what a group's likeliest member implies, the likeliest choice of
// candidates first; nil where some leg isn't measured.
func Flows(p *infer.Posterior, g *infer.Group) []Flow {
	return flowsOf(p, g.Members[0].Number, &p.Frames[g.Frame])
}

// flowsOf lists what one arrangement under one frame implies.
func flowsOf(p *infer.Posterior, number int, f *frames.Frame) []Flow {
	sc := infer.NewScene(f, &p.Now)
	sc.Generation = p.Generation
	a := prior.NewArranged(number, p.JudgedUnder(f), [2]float64{})
	var all []Flow
	spread(sc, 0, &a, Flow{share: 1}, &all)
	var sum float64
	for i := range all {
		sum += all[i].share
	}
	for i := range all {
		all[i].share /= sum
	}
	slices.SortStableFunc(all, func(x, y Flow) int { return cmp.Compare(y.share, x.share) })
	return all
}

// spread goes through the candidates of channel k and those after it.
func spread(sc *infer.Scene, k int, a *prior.Arranged, so Flow, all *[]Flow) {
	for k < 3 && a.Digit[k] < 0 {
		k++
	}
	if k == 3 {
		so.share *= sc.At(axesOf(sc, &so))
		if so.share > 0 {
			total(sc, &so, a)
			*all = append(*all, so)
		}
		return
	}
	s, digit := &sc.Observed[k], a.Digit[k]
	implied := &sc.Implied[k][digit]
	for i := range implied.N {
		next := so
		next.share *= implied.Share[i]
		if a.Same[1] == k && k > 0 {
			next.share *= sc.Coincide(a, i)
		}
		theta := (implied.Phi[i] + sc.Offset(k, digit)) * math.Pi / 180
		sin, cos := math.Sincos(theta)
		current := cmplx.Rect(s.Working, cmplx.Phase(inputVolts(sc, k))-theta)
		if digit%2 == 1 {
			current = -current
		}
		next.part[k] = Part{measuredP: s.Watts.Or(s.Volts * s.Working * cos), measuredQ: s.Volts * s.Working * sin, current: current}
		next.measured += next.part[k].measuredP
		next.Leg[digit/2] = LegFlow{true, s.Working, implied.Phi[i]}
		spread(sc, k+1, a, next, all)
	}
}

func axesOf(sc *infer.Scene, so *Flow) [3]int {
	at := [3]int{-1, -1, -1}
	for m, l := range so.Leg {
		if l.known {
			at[sc.Axis[m]] = loadmodel.Cell(l.Phi)
		}
	}
	return at
}

// total adds up the true power: of every channel, its voltage when its input is
// right times the current of the leg where its CT belongs (Blondel: with one
// conductor as the common point one element fewer than conductors is enough). On
// a three-wire delta the leg without a CT carries the others' currents back.
func total(sc *infer.Scene, so *Flow, a *prior.Arranged) {
	s := sc.Frame.Service
	for k, d := range a.Digit {
		if d < 0 || a.Same[1] == k && k > 0 {
			continue // of two CTs on one leg the first counts
		}
		var power complex128
		for j := range s.Channels() {
			home := int(s.HomeLeg(wiring.Channel(j+1))) - 1
			power += homeVolts(sc, j) * cmplx.Conj(so.part[k].current*complex(returns(s, so, d/2, home), 0))
		}
		so.part[k].trueP, so.part[k].trueQ = real(power), imag(power)
		so.actual += real(power)
	}
}

// returns is the share of the current of a leg, on which a CT sits, that flows
// in the leg that is asked for.
func returns(s wiring.Service, so *Flow, leg, in int) float64 {
	switch {
	case leg == in:
		return 1
	case s.Kind == wiring.Delta && !so.Leg[in].known:
		return -1
	}
	return 0
}

// homeVolts is the voltage, V, that input j should read: what it does read where
// it sits on its own conductors.
func homeVolts(sc *infer.Scene, j int) complex128 {
	if standsHome(sc, j) {
		return inputVolts(sc, j)
	}
	in := sc.Frame.Service.InputPhasors(sc.Frame.Sequence)
	return in[j] * complex(sc.Frame.Service.Nominal, 0)
}

// inputVolts is the voltage of input k, V: measured in size and, where every
// input's angle was, in angle; else the frame's.
func inputVolts(sc *infer.Scene, k int) complex128 {
	size, at := cmplx.Abs(sc.Frame.Input[k])*sc.Frame.Service.Nominal, cmplx.Phase(sc.Frame.Input[k])
	if v := sc.Observed[k].Volts; v > 0 {
		size = v
	}
	first := -1
	for j := range sc.Frame.Service.Channels() {
		if !sc.Frame.Usable[j] {
			continue
		}
		if !sc.Observed[j].VoltsAt.Known() {
			return cmplx.Rect(size, at)
		}
		if first < 0 {
			first = j
		}
	}
	if first >= 0 && sc.Frame.Usable[k] {
		turn := sc.Observed[k].VoltsAt.Or(0).Minus(sc.Observed[first].VoltsAt.Or(0))
		at = cmplx.Phase(sc.Frame.Input[first]) + turn.Radians()
	}
	return cmplx.Rect(size, at)
}

// standsHome reports whether input j reads what it should.
func standsHome(sc *infer.Scene, j int) bool {
	s := sc.Frame.State[j]
	return s == wiring.InputLive || s == wiring.InputLow || s == wiring.InputHigh
}
