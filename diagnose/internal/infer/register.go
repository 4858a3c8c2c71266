package infer

import (
	"math"

	"legwork/diagnose/internal/evidence"
	"legwork/diagnose/internal/frames"
	"legwork/diagnose/internal/loadmodel"
)

// A reactive register computed as sqrt(S^2 - P^2) is never negative, and maps
// don't always say so. As long as no reading of a case was below zero, two
// things are weighed: that the register has a sign, and that it has none, so that
// each angle may as well be its opposite. A verdict has to stand under both.
//
// How much the second weighs follows from how often a register with a sign stays
// above zero for as long, not from how well either explains the changes of load:
// without signs all is blurred, and what is blurred always explains worse.

// neverBelow is the share of sites where no channel of a register with a sign is
// below zero over so many states of the load, a power law fitted to 1500 random
// panels of ours with mixed loads: 0.50 at one look, 0.38 over 11 states, 0.27
// over 31, where the law has 0.50, 0.35 and 0.30.
func neverBelow(states int) float64 { return 0.5 * math.Pow(float64(states), -0.15) }

// Weigh infers from the base and the changes of load, over both sorts of register;
// signed says that a reactive register was below zero once.
func Weigh(frames []frames.Frame, h *evidence.History, signed bool, sort loadmodel.Sort) (p Posterior, steps int) {
	p, steps = weighHistory(frames, h, sort)
	if signed || !h.Positive() {
		return p, steps
	}
	folded := h.Fold()
	unsigned, _ := weighHistory(frames, &folded, sort)
	p.blend(&unsigned, priorUnsigned/(priorUnsigned+(1-priorUnsigned)*neverBelow(1+steps)))
	return p, steps
}

// weighHistory infers from one history.
func weighHistory(frames []frames.Frame, h *evidence.History, sort loadmodel.Sort) (p Posterior, steps int) {
	if len(h.States) > 1 {
		steps = h.MarkRepeats()
	}
	p = infer(frames, h.Ordinary(), sort)
	if len(h.States) > 1 {
		p.weighSteps(h)
	}
	p.Now = h.States[len(h.States)-1].Observed
	return p, steps
}

// blend mixes in what the other sort of register gives, whose share it is.
func (p *Posterior) blend(unsigned *Posterior, share float64) {
	for f := range p.Weights {
		for a := range p.Weights[f] {
			p.Weights[f][a] += share * (unsigned.Weights[f][a] - p.Weights[f][a])
		}
	}
	for k := range p.Observed {
		p.Observed[k].Fold(share / 2)
		p.Now[k].Fold(share / 2)
	}
}
