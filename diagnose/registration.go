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
	slack    float64    // W, one standard deviation of actual
	leg      [3]legFlow // by leg number
}

// legFlow is the load of one leg, if a CT measures it.
type legFlow struct {
	known bool
	amps  float64
	phi   float64 // degrees
}

// What the angle and the size of a current may be off by. Assumptions of ours:
// a CT of class 0.5 to 1 at a fair load (IEC 61869-2 Table 201: 30 to 90 minutes).
const (
	flowAngleSlack = 0.5   // degrees
	flowSizeSlack  = 0.003 // share
)

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
			sc.total(&so)
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
		measured := s.volts * s.amps * math.Cos((seen.phi[i]+sc.offset(k, digit))*math.Pi/180)
		next.measured += s.watts.Or(measured)
		next.leg[digit/2] = legFlow{true, s.amps, seen.phi[i]}
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
func (sc *scene) total(so *flow) {
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
		off := imag(power) * flowAngleSlack * math.Pi / 180
		size := real(power) * flowSizeSlack
		so.slack = math.Sqrt(so.slack*so.slack + off*off + size*size)
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
		for _, z := range [...]float64{-1.96, 1.96} {
			ratio := f.measured / (f.actual + z*f.slack)
			lowest, highest = math.Min(lowest, ratio), math.Max(highest, ratio)
		}
		if math.Abs(f.actual) < 3*f.slack {
			return reading.Value{}, reading.Value{}, reading.Value{}
		}
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
