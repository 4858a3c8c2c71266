package flow

import (
	"math"

	"legwork/diagnose/internal/infer"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// Complete reports whether every leg whose power is wanted has a CT on it.
func Complete(g *infer.Group) bool {
	var seen [4]bool
	n := g.Service.Channels()
	for k := range n {
		if !g.Judged[k] {
			return false
		}
		leg := g.Lead()[k].Leg
		if leg == wiring.OnNeutral {
			continue // the leg without a CT follows from the sum
		}
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

// Registration is measured over true power, with an interval of about 95 % that
// covers what reads alike; unknown where a leg isn't measured or the true power
// is near nothing.
func Registration(g *infer.Group, flows []Flow) (best, low, high reading.Value) {
	if !Complete(g) || len(flows) == 0 {
		return
	}
	lowest, highest, ok := bounds(flows)
	for _, m := range g.Members[1:] {
		if m.Weight < shareWorthBounding*g.Weight || !ok {
			continue
		}
		l, h, certain := bounds(flowsOf(g, m.Number))
		lowest, highest, ok = math.Min(lowest, l), math.Max(highest, h), certain
	}
	if !ok {
		return
	}
	return reading.Known(flows[0].measured / flows[0].actual), reading.Known(lowest), reading.Known(highest)
}

// bounds is the interval of the registration over the choices of candidates; ok
// is false where the true power may be near nothing.
func bounds(flows []Flow) (low, high float64, ok bool) {
	low, high = math.Inf(1), math.Inf(-1)
	for i, f := range flows {
		if i > 0 && f.share < shareWorthBounding {
			continue
		}
		if !f.certain() {
			return 0, 0, false
		}
		ratio, slack := f.measured/f.actual, 1.96*f.ratioSlack() // 1.96: the Gaussian quantile at 97.5 %
		low, high = math.Min(low, ratio-slack), math.Max(high, ratio+slack)
	}
	return low, high, true
}
