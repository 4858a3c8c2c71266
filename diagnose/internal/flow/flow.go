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
	measured float64       // W, all judged channels
	actual   float64       // W, all legs
	Leg      [3]LegFlow    // by leg number
	part     [3]part       // by channel
	home     [3]complex128 // V, what the inputs should read
	through  [3]complex128 // A, what the legs carry, by leg number
	frame    *frames.Frame
}

// part is what one channel measures and what flows through its CT, in VA, with the
// current in the leg's own direction, A.
type part struct {
	measured, actual complex128
	current          complex128
	from             Source // of the voltage that the true power is at
}

// Share is the probability of the choice of candidates, under its explanation.
func (so *Flow) Share() float64 { return so.share }

// Currents are those of the legs, A, by leg number; 0 where no CT measures one.
func (so *Flow) Currents() [3]complex128 { return so.through }

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

// ratioSlack is one standard deviation of measured over actual, R = P_m / P_a. A CT off
// by a share e and an angle d (radians) moves the active part of S by Re(S) e + Im(S) d,
// of what is measured and of what is taken for actual together:
//
//	dR = (dP_m P_a - P_m dP_a) / P_a^2
//
// The CTs' errors are independent, so their variances add (JCGM 100:2008, 5.1.2).
func (so *Flow) ratioSlack() float64 {
	var sum float64
	for _, c := range so.part {
		size := (real(c.measured)*so.actual - so.measured*real(c.actual)) * flowSizeSlack
		angle := (imag(c.measured)*so.actual - so.measured*imag(c.actual)) * flowAngleSlack * math.Pi / 180
		volts := so.measured * c.from.spread(c.actual) // dP_m = 0: it moves what is taken for actual alone
		sum += size*size + angle*angle + volts*volts
	}
	return math.Hypot(math.Sqrt(sum)/(so.actual*so.actual), flowNoise)
}

// certain reports that the true power is well above what errors could make of nothing:
// three standard deviations; our choice.
func (so *Flow) certain() bool {
	var sum float64
	for _, c := range so.part {
		size, angle := real(c.actual)*flowSizeSlack, imag(c.actual)*flowAngleSlack*math.Pi/180
		sum += size*size + angle*angle
	}
	return math.Abs(so.actual) >= 3*math.Sqrt(sum)
}

// Flows lists what a group's likeliest member implies, under every frame that puts
// the inputs as the group does, the likeliest first; nil where some leg isn't measured.
// Of a CT on the neutral that may sit either way round it lists both ways.
func Flows(g *infer.Group) []Flow {
	lead := g.Members[0]
	all := flowsOf(g, lead.Number)
	for _, m := range g.Members[1:] {
		if prior.EitherWay(m.Number) != prior.EitherWay(lead.Number) {
			continue
		}
		other, part := flowsOf(g, m.Number), m.Weight/(lead.Weight+m.Weight)
		for i := range all {
			all[i].share *= 1 - part
		}
		for i := range other {
			other[i].share *= part
		}
		all = append(all, other...)
	}
	return all
}

// shareWorthFollowing is the share of a member's weight from which on a frame counts.
const shareWorthFollowing = 0.01

// flowsOf lists what one arrangement of a group implies.
func flowsOf(g *infer.Group, number int) []Flow {
	p := g.Of
	var whole float64
	for f := range p.Frames {
		if g.HostedBy(&p.Frames[f]) {
			whole += p.Weights[f][number]
		}
	}
	var all []Flow
	for f := range p.Frames {
		if w := p.Weights[f][number]; g.HostedBy(&p.Frames[f]) && (w > shareWorthFollowing*whole || f == g.Frame && whole == 0) {
			all = append(all, underFrame(p, number, &p.Frames[f], w/math.Max(whole, w))...)
		}
	}
	slices.SortStableFunc(all, func(x, y Flow) int { return cmp.Compare(y.share, x.share) })
	return all
}

// underFrame lists what an arrangement implies under one frame, which has a share.
func underFrame(p *infer.Posterior, number int, f *frames.Frame, share float64) []Flow {
	sc := infer.NewScene(f, &p.Now, p.Sort)
	a := prior.NewArranged(number, p.JudgedUnder(f), f.Service.Legs(), [2]float64{})
	var all []Flow
	read := inputVolts(sc)
	spread(sc, 0, &a, Flow{share: 1, frame: f}, read, &all)
	var sum float64
	for i := range all {
		sum += all[i].share
	}
	if sum <= 0 {
		return nil
	}
	for i := range all {
		all[i].share *= share / sum
	}
	return all
}

// spread goes through the candidates of channel k and those after it.
func spread(sc *infer.Scene, k int, a *prior.Arranged, so Flow, read [3]complex128, all *[]Flow) {
	for k < 3 && (a.Digit[k] < 0 || k == a.Neutral-1) {
		k++
	}
	if k == 3 {
		if a.Neutral > 0 {
			bare(sc, a, so, read, all)
			return
		}
		so.share *= sc.At(axesOf(sc, &so))
		if so.share > 0 {
			total(sc, &so, a, read)
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
		// S = V I exp(j theta), VA; the current lags its voltage by theta:
		// J = I exp(j (arg V - theta)), A, and -J where the CT is reversed.
		power := cmplx.Rect(s.Volts*s.Working, theta)
		current := cmplx.Rect(s.Working, cmplx.Phase(read[k])-theta)
		if digit%2 == 1 {
			current = -current
		}
		next.part[k] = part{measured: complex(s.Watts.Or(real(power)), imag(power)), current: current}
		next.measured += real(next.part[k].measured)
		next.Leg[digit/2] = LegFlow{true, s.Working, implied.Phi[i]}
		spread(sc, k+1, a, next, read, all)
	}
}

// bare goes through the candidates of a CT on the neutral, which carries the legs' sum
// back: the leg that no CT is on carries what the others leave of it.
func bare(sc *infer.Scene, a *prior.Arranged, so Flow, read [3]complex128, all *[]Flow) {
	k, m := a.Neutral-1, a.Bare
	s := &sc.Observed[k]
	for _, c := range s.List() {
		next := so
		theta := c.Theta * math.Pi / 180
		power := cmplx.Rect(s.Volts*s.Working, theta)
		next.measured += s.Watts.Or(real(power))
		next.part[k].measured = complex(s.Watts.Or(real(power)), imag(power))
		// Kirchhoff's current law: J_a + J_b + J_c + J_n = 0, so that the leg without a
		// CT carries J_m = -J_n less the other two.
		sum := cmplx.Rect(s.Working, cmplx.Phase(read[k])-theta)
		if a.Digit[k]%2 == 0 {
			sum = -sum
		}
		for j, d := range a.Digit {
			if d >= 0 && j != k {
				sum -= next.part[j].current
			}
		}
		next.part[k].current = sum
		next.Leg[m] = LegFlow{true, cmplx.Abs(sum), cmplx.Phase(sc.Frame.Leg[m]/sum) * 180 / math.Pi} // phi = arg E - arg J
		next.share *= c.Share * sc.At(axesOf(sc, &next))
		if next.share > 0 {
			total(sc, &next, a, read)
			*all = append(*all, next)
		}
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

// total adds up the true power, P = sum over channels of Re(E_k J_k*), W: of every channel, its voltage when its input is
// right times the current of the leg where its CT belongs (Blondel: with one
// conductor as the common point one element fewer than conductors is enough).
func total(sc *infer.Scene, so *Flow, a *prior.Arranged, read [3]complex128) {
	supply := supplyOf(sc.Frame)
	var from [3]Source
	so.home, from = supply.Home(read)
	var measured [3]bool
	for m := range so.Leg {
		measured[m] = so.Leg[m].known
	}
	for k, d := range a.Digit {
		if d < 0 || a.Same[1] == k && k > 0 {
			continue // of two CTs on one leg the first counts
		}
		leg := d / 2
		if k == a.Neutral-1 {
			leg = a.Bare
		}
		so.through[leg] = so.part[k].current
		so.part[k].actual = supply.Through(so.home, so.part[k].current, leg, measured)
		so.part[k].from = from[leg]
		if sc.Frame.Service.Kind == wiring.Delta {
			so.part[k].from = max(from[0], from[1])
		}
		so.actual += real(so.part[k].actual)
	}
}

func supplyOf(f *frames.Frame) Supply {
	return Supply{Service: f.Service, Sequence: f.Sequence, State: f.State, Severe: f.Severe}
}

// inputVolts are the voltages of the inputs, V: measured in size and, where every
// input's angle was, in angle; else the frame's.
func inputVolts(sc *infer.Scene) (read [3]complex128) {
	f := sc.Frame
	first, angles := -1, true
	for j := range f.Service.Channels() {
		if f.Usable[j] {
			angles = angles && sc.Observed[j].VoltsAt.Known()
			if first < 0 {
				first = j
			}
		}
	}
	for k := range f.Service.Channels() {
		size, at := cmplx.Abs(f.Input[k])*f.Service.Nominal, cmplx.Phase(f.Input[k])
		if v := sc.Observed[k].Volts; v > 0 {
			size = v
		}
		if angles && first >= 0 && f.Usable[k] {
			turn := sc.Observed[k].VoltsAt.Or(0).Minus(sc.Observed[first].VoltsAt.Or(0))
			at = cmplx.Phase(f.Input[first]) + turn.Radians()
		}
		read[k] = cmplx.Rect(size, at)
	}
	return read
}
