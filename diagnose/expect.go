package diagnose

import (
	"math"
	"math/cmplx"

	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// likeliestFrame is the frame of a group under which a member weighs most.
func (p *posterior) likeliestFrame(g *group, number int) *frame {
	best := g.frame
	for f := range p.frames {
		if p.frames[f].hosts(g) && p.weights[f][number] > p.weights[best][number] {
			best = f
		}
	}
	return &p.frames[best]
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
