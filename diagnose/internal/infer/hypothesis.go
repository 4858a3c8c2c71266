package infer

import (
	"slices"

	"legwork/diagnose/internal/evidence"
	"legwork/diagnose/internal/frames"
	"legwork/diagnose/internal/prior"
)

// Hypothesis is one arrangement under one frame, with its weight.
type Hypothesis struct {
	Frame  *frames.Frame
	Digit  [3]int // -1 where not judged
	Weight float64
}

// Claims reports whether two hypotheses say the same of what a person would
// mend: of where the CTs are and of the inputs. Of which sequence it is, or
// which service, only what follows for those counts.
func (h *Hypothesis) Claims(o *Hypothesis) bool {
	return h.Digit == o.Digit && h.Frame.State == o.Frame.State
}

// Hypotheses lists what is worth telling apart.
func (p *Posterior) Hypotheses() []Hypothesis {
	var all []Hypothesis
	for f := range p.Frames {
		judged := unpack(p.JudgedUnder(&p.Frames[f]))
		for a, w := range p.Weights[f] {
			if w < leastGroup/4 {
				continue
			}
			all = append(all, HypothesisOf(&p.Frames[f], a, judged, w))
		}
	}
	return all
}

func HypothesisOf(f *frames.Frame, number int, judged [3]bool, weight float64) Hypothesis {
	h := Hypothesis{f, prior.DigitsOf(number), weight}
	for k := range h.Digit {
		if !judged[k] {
			h.Digit[k] = -1
		}
	}
	return h
}

// Alike lists the members of a group under every frame that puts the inputs as it does.
func (p *Posterior) Alike(g *Group) []Hypothesis {
	var all []Hypothesis
	for f := range p.Frames {
		if !g.HostedBy(&p.Frames[f]) {
			continue
		}
		for _, m := range g.Members {
			if w := p.Weights[f][m.Number]; w > 0 {
				all = append(all, HypothesisOf(&p.Frames[f], m.Number, g.Judged, w))
			}
		}
	}
	return all
}

// ShowsPower reports a channel on which the meter tells a load from one turned round; one
// without current is taken for like the others.
func (p *Posterior) ShowsPower(k int) bool {
	if p.Observed[k].N > 0 {
		return !p.Observed[k].TurnedAlike()
	}
	return !slices.ContainsFunc(p.Observed[:], func(o evidence.Observation) bool { return o.N > 0 && o.TurnedAlike() })
}
