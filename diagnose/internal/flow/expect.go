package flow

import (
	"math"
	"math/cmplx"

	"legwork/diagnose/internal/infer"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// After is what one channel should read after the move: power in W, and the angle
// of its current behind its voltage. What isn't known is absent.
type After struct {
	Power reading.Value
	Angle reading.Maybe[reading.Angle]
}

// Expected is what every channel should read once all CTs and inputs sit right, at
// the same load; unknown where its leg isn't measured now or the candidates disagree.
func Expected(g *infer.Group, flows []Flow) []After {
	all := make([]After, g.Service.Channels())
	for k := range all {
		home := int(g.Service.HomeLeg(wiring.Channel(k+1))) - 1
		if len(flows) == 0 || !flows[0].Leg[home].known {
			continue
		}
		all[k].Power, all[k].Angle = agreed(flows, func(f Flow) (float64, reading.Angle) {
			s := f.home[k] * cmplx.Conj(f.through[home]) // S = E J*, VA: P = Re S, and arg S is the lag
			return real(s), reading.Radians(cmplx.Phase(s))
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
