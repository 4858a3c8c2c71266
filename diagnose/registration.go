package diagnose

import (
	"cmp"
	"math"
	"math/cmplx"
	"slices"

	"legwork/diagnose/wiring"
	"legwork/probe/reading"
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

// part is what one channel measures and what flows through its CT, in W and var.
type part struct{ seenP, seenQ, trueP, trueQ float64 }

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
func (p *posterior) flows(g *group) []flow {
	sc := newScene(&p.frames[g.frame], &p.now)
	sc.generation = p.generation
	a := newArranged(g.members[0].number, p.judgedUnder(&p.frames[g.frame]), [2]float64{})
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
		sin, cos := math.Sincos((seen.phi[i] + sc.offset(k, digit)) * math.Pi / 180)
		next.part[k] = part{seenP: s.watts.Or(s.volts * s.working * cos), seenQ: s.volts * s.working * sin}
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

// total adds up the true power of the legs. On a three-wire delta two currents
// tell the third (Blondel), whichever two legs they are of.
func (sc *scene) total(so *flow, a *arranged) {
	common := complex(0, 0)
	if sc.frame.service.Kind == wiring.Delta {
		for m, l := range so.leg {
			if !l.known {
				common = sc.legVolts(m)
			}
		}
	}
	for m, l := range so.leg {
		if !l.known {
			continue
		}
		e := sc.legVolts(m)
		current := cmplx.Rect(l.amps, cmplx.Phase(e)-l.phi*math.Pi/180)
		power := (e - common) * cmplx.Conj(current)
		so.actual += real(power)
		for k, d := range a.digit {
			if d >= 0 && d/2 == m {
				so.part[k].trueP, so.part[k].trueQ = real(power), imag(power)
			}
		}
	}
}

// legVolts is the voltage of leg m to the service's reference, V. Its size is
// the measured one where the input of that leg reads it.
func (sc *scene) legVolts(m int) complex128 {
	e := sc.frame.leg[m]
	size := cmplx.Abs(e) * sc.frame.service.Nominal
	if v := sc.sights[m].volts; v > 0 && sc.standsOnLeg(m) {
		size = v
	}
	return cmplx.Rect(size, cmplx.Phase(e))
}

// standsOnLeg reports whether input m reads its own leg to neutral.
func (sc *scene) standsOnLeg(m int) bool {
	if sc.frame.service.Kind == wiring.Delta || sc.frame.leg[m] == 0 {
		return false
	}
	s := sc.frame.state[m]
	return cmplx.Abs(sc.frame.input[m]-sc.frame.leg[m]) < 1e-9 && (s == InputLive || s == InputLow || s == InputHigh)
}

// complete reports whether every leg whose power is wanted has a CT on it.
func complete(g *group) bool {
	var seen [4]bool
	n := g.service.Channels()
	for k := range n {
		if !g.judged[k] {
			return false
		}
		leg := g.lead()[k].Leg
		if seen[leg] {
			return false
		}
		seen[leg] = true
	}
	return true
}

// shareWorthBounding is the share under which a choice of candidates doesn't
// widen the interval: with two of them, 95 % remain inside.
const shareWorthBounding = 0.025

// registration is measured over true power, with an interval of about 95 %;
// unknown where a leg isn't measured or the true power is near nothing.
func registration(g *group, flows []flow) (best, low, high reading.Value) {
	if !complete(g) || len(flows) == 0 {
		return
	}
	lowest, highest := math.Inf(1), math.Inf(-1)
	for _, f := range flows {
		if f.share < shareWorthBounding {
			continue
		}
		if !f.certain() {
			return reading.Value{}, reading.Value{}, reading.Value{}
		}
		ratio, slack := f.measured/f.actual, 1.96*f.ratioSlack()
		lowest, highest = math.Min(lowest, ratio-slack), math.Max(highest, ratio+slack)
	}
	return reading.Known(flows[0].measured / flows[0].actual), reading.Known(lowest), reading.Known(highest)
}

// expected is what every channel should read once all CTs sit right, at the
// same load; unknown where its leg isn't measured now or the candidates disagree.
func (p *posterior) expected(g *group, flows []flow) []ChannelAfter {
	f := &p.frames[g.frame]
	sc := newScene(f, &p.now)
	in := f.service.InputPhasors(f.sequence)
	all := make([]ChannelAfter, f.service.Channels())
	for k := range all {
		all[k].Channel = k + 1
		home := int(f.service.HomeLeg(wiring.Channel(k+1))) - 1
		if len(flows) == 0 || !flows[0].leg[home].known {
			continue
		}
		volts := cmplx.Abs(in[k]) * f.service.Nominal
		if s := f.state[k]; s == InputLive || (f.usable[k] && p.now[k].volts > lowBelow*volts && s != InputNeutralCrossed) {
			volts = p.now[k].volts
		}
		off := reading.Radians(cmplx.Phase(in[k] / sc.frame.leg[home]))
		all[k].Power, all[k].Angle = agreed(flows, func(f flow) (float64, reading.Angle) {
			theta := reading.Degrees(f.leg[home].phi).Plus(off)
			return volts * f.leg[home].amps * theta.Cos(), theta
		})
	}
	return all
}

// agreed is what most choices of candidates agree on, within 2 % of the
// largest and 3 degrees.
func agreed(flows []flow, of func(flow) (float64, reading.Angle)) (reading.Value, reading.Maybe[reading.Angle]) {
	watts, theta := of(flows[0])
	var wattsShare, thetaShare float64
	for _, f := range flows {
		w, t := of(f)
		if math.Abs(w-watts) <= 0.02*math.Max(math.Abs(watts), 1) {
			wattsShare += f.share
		}
		if t.Minus(theta).Abs() <= 3 {
			thetaShare += f.share
		}
	}
	var power reading.Value
	var angle reading.Maybe[reading.Angle]
	if wattsShare >= DefaultDecide {
		power = reading.Known(watts)
	}
	if thetaShare >= DefaultDecide {
		angle = reading.Known(theta)
	}
	return power, angle
}
