package diagnose

import "math"

// A reactive register computed as sqrt(S^2 - P^2) is never negative, and maps
// don't always say so. As long as no reading of a case was below zero, two
// things are weighed: that the register has a sign, and that it has none, so that
// each angle may as well be its opposite. A verdict has to stand under both.
//
// How much the second weighs follows from how often a register with a sign stays
// above zero for as long, not from how well either explains the changes of load:
// without signs all is blurred, and what is blurred always explains worse.

// priorUnsigned is the share of reactive registers that have no sign though the
// map doesn't say so. An assumption of ours, no source.
const priorUnsigned = 0.06

// neverBelow is the share of sites where no channel of a register with a sign is
// below zero over so many states of the load: half at one look, and hardly fewer
// later (0.38 over 11, 0.27 over 31, 1500 random panels of ours, mixed loads).
func neverBelow(states int) float64 { return 0.5 * math.Pow(float64(states), -0.15) }

// weigh infers from the base and the changes of load, over both sorts of register.
func (c *Case) weigh(frames []frame) (p posterior, steps int) {
	p, steps = weighHistory(frames, &c.history, c.options.Generation)
	if c.signed || !c.history.positive() {
		return p, steps
	}
	folded := c.history.fold()
	unsigned, _ := weighHistory(frames, &folded, c.options.Generation)
	p.blend(&unsigned, priorUnsigned/(priorUnsigned+(1-priorUnsigned)*neverBelow(1+steps)))
	return p, steps
}

// weighHistory infers from one history.
func weighHistory(frames []frame, h *history, generation bool) (p posterior, steps int) {
	if len(h.states) > 1 {
		steps = h.markRepeats()
	}
	p = infer(frames, h.ordinary(), generation)
	if len(h.states) > 1 {
		p.weighSteps(h)
	}
	p.now = h.states[len(h.states)-1].sights
	return p, steps
}

// positive reports any angle that rests on the sign of such a register.
func (h *history) positive() bool {
	for i := range h.states {
		for k := range h.states[i].sights {
			if h.states[i].sights[k].positive {
				return true
			}
		}
	}
	return false
}

// fold is the history as it is if the register has no sign.
func (h *history) fold() history {
	folded := history{states: append([]state(nil), h.states...), full: h.full}
	for i := range folded.states {
		s := &folded.states[i]
		for k := range s.sights {
			s.sights[k].fold(0.5)
			s.edges[opening].sights[k].fold(0.5)
			s.edges[closing].sights[k].fold(0.5)
		}
	}
	return folded
}

// fold gives the opposite of an angle, which may be as well, a share.
func (s *sight) fold(share float64) {
	if s.positive && s.n == 1 {
		s.candidates[0].share = 1 - share
		s.add(-s.candidates[0].theta, share)
	}
}

// blend mixes in what the other sort of register gives, whose share it is.
func (p *posterior) blend(unsigned *posterior, share float64) {
	for f := range p.weights {
		for a := range p.weights[f] {
			p.weights[f][a] += share * (unsigned.weights[f][a] - p.weights[f][a])
		}
	}
	for k := range p.sights {
		p.sights[k].fold(share / 2)
		p.now[k].fold(share / 2)
	}
}
