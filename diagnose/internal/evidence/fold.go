package evidence

import "legwork/probe/reading"

// What a history is if a reactive register has no sign.

// Positive reports any angle that rests on the sign of such a register.
func (h *History) Positive() bool {
	for i := range h.States {
		for k := range h.States[i].Observed {
			if h.States[i].Observed[k].positive {
				return true
			}
		}
	}
	return false
}

// Fold is the history as it is if the register has no sign.
func (h *History) Fold() History {
	folded := History{States: append([]State(nil), h.States...), full: h.full}
	for i := range folded.States {
		s := &folded.States[i]
		for k := range s.Observed {
			s.Observed[k].Fold(0.5)
			s.Edges[Opening][k].fold()
			s.Edges[Closing][k].fold()
		}
	}
	return folded
}

// Fold gives the opposite of an angle, which may be as well, a share.
func (s *Observation) Fold(share float64) {
	if s.positive && s.N == 1 {
		s.Candidates[0].Share = 1 - share
		s.add(-s.Candidates[0].Theta, share)
	}
}

// AnyNegativeReactive reports that a reactive register carries a sign.
func AnyNegativeReactive(r *reading.Reading) bool {
	for _, c := range r.Channels {
		if q, ok := c.Reactive.Get(); ok && q < 0 {
			return true
		}
	}
	return false
}
