package flow

import (
	"math"
	"math/cmplx"

	"legwork/diagnose/internal/frames"
	"legwork/diagnose/internal/infer"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// likeliestFrame is the frame of a group under which a member weighs most.
func likeliestFrame(p *infer.Posterior, g *infer.Group, number int) *frames.Frame {
	best := g.Frame
	for f := range p.Frames {
		if g.HostedBy(&p.Frames[f]) && p.Weights[f][number] > p.Weights[best][number] {
			best = f
		}
	}
	return &p.Frames[best]
}

// After is what one channel should read after the move: power in W, and the angle
// of its current behind its voltage. What isn't known is absent.
type After struct {
	Power reading.Value
	Angle reading.Maybe[reading.Angle]
}

// Expected is what every channel should read once all CTs sit right, at the
// same load; unknown where its leg isn't measured now or the candidates disagree.
func Expected(p *infer.Posterior, g *infer.Group, flows []Flow) []After {
	f := &p.Frames[g.Frame]
	sc := infer.NewScene(f, &p.Now)
	in := f.Service.InputPhasors(f.Sequence)
	all := make([]After, f.Service.Channels())
	for k := range all {
		home := int(f.Service.HomeLeg(wiring.Channel(k+1))) - 1
		if len(flows) == 0 || !flows[0].Leg[home].known {
			continue
		}
		volts := cmplx.Abs(in[k]) * f.Service.Nominal
		if s := f.State[k]; s == wiring.InputLive || (f.Usable[k] && p.Now[k].Volts > frames.LowBelow*volts && s != wiring.InputNeutralCrossed) {
			volts = p.Now[k].Volts
		}
		off := reading.Radians(cmplx.Phase(in[k] / sc.Frame.Leg[home]))
		all[k].Power, all[k].Angle = agreed(flows, func(f Flow) (float64, reading.Angle) {
			theta := reading.Degrees(f.Leg[home].Phi).Plus(off)
			return volts * f.Leg[home].Amps * theta.Cos(), theta
		})
	}
	return all
}

// agreedShare is the share of choices that must agree: our choice, no source.
const agreedShare = 0.9

// agreed is what most choices of candidates agree on, within 2 % of the
// largest and 3 degrees.
func agreed(flows []Flow, of func(Flow) (float64, reading.Angle)) (reading.Value, reading.Maybe[reading.Angle]) {
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
	if wattsShare >= agreedShare {
		power = reading.Known(watts)
	}
	if thetaShare >= agreedShare {
		angle = reading.Known(theta)
	}
	return power, angle
}
