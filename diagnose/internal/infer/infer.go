package infer

import (
	"math"

	"legwork/diagnose/internal/evidence"
	"legwork/diagnose/internal/frames"
	"legwork/diagnose/internal/loadmodel"
	"legwork/diagnose/internal/prior"
)

// Posterior holds the weight of every arrangement under every frame. The
// weights of all frames together sum to one, unless nothing was judged.
type Posterior struct {
	Frames   []frames.Frame
	Weights  [][prior.Arrangements]float64 // by frame
	Judged   [3]bool                       // under the likeliest frame
	Observed [3]evidence.Observation       // of the base: the state whose load angles were weighed
	Now      [3]evidence.Observation       // of the present state

	Sort     loadmodel.Sort // of panel
	Evidence float64        // natural logarithm of p(readings | the sort), up to a constant for all sorts

	// findings is, by frame, the probability of what a person's tests showed under
	// each arrangement; nil where there were none.
	findings [][prior.Arrangements]float64
}

// infer weighs every arrangement under every frame by the states that may be the
// ordinary one of the panel, each as likely as the others; the first is the base.
func infer(frames []frames.Frame, states [][3]evidence.Observation, sort loadmodel.Sort) Posterior {
	p := Posterior{Frames: frames, Weights: make([][prior.Arrangements]float64, len(frames)), Observed: states[0], Sort: sort}
	var sum, most float64
	sc := new(Scene)
	for f := range frames {
		sc.set(&frames[f], &states[0], sort)
		sc.weigh(&p.Weights[f])
		sc.weighOthers(states[1:], sort, &p.Weights[f])
		mass := 0.0
		for _, w := range p.Weights[f] {
			mass += w
		}
		if mass > most {
			most = mass
			p.setJudged(sc.judged)
		}
		sum += mass
	}
	p.scale(sum)
	return p
}

// weighOthers takes the mean with the weights by other states, as far as they
// show the same channels. It is the power mean of exponent 1/3, our choice,
//
//	w = (sum of w_i^(1/3) / n)^3
//
// An arithmetic mean would let the one state count in which an arrangement looks best, a
// product would take loads that stay on for evidence anew each time.
func (sc *Scene) weighOthers(states [][3]evidence.Observation, sort loadmodel.Sort, out *[prior.Arrangements]float64) {
	if len(states) == 0 {
		return
	}
	for a, w := range out {
		out[a] = math.Cbrt(w)
	}
	n := 1.0
	for i := range states {
		other := NewScene(sc.Frame, &states[i], sort)
		if other.judged != sc.judged {
			continue
		}
		n++
		var weights [prior.Arrangements]float64
		other.weigh(&weights)
		for a, w := range weights {
			out[a] += math.Cbrt(w)
		}
	}
	for a, sum := range out {
		out[a] = sum * sum * sum / (n * n * n)
	}
}

func (p *Posterior) setJudged(bits int) {
	for k := range p.Judged {
		p.Judged[k] = bits>>k&1 == 1
	}
}

// scale makes the weights, which add up to sum, add up to one.
func (p *Posterior) scale(sum float64) {
	if sum == 0 {
		p.Evidence = math.Inf(-1)
		return
	}
	p.Evidence += math.Log(sum)
	for f := range p.Weights {
		for a := range p.Weights[f] {
			p.Weights[f][a] /= sum
		}
	}
}
