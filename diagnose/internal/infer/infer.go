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

// weighOthers takes the weights by other states too, as far as they show the same
// channels: of n states the one that suits an arrangement best, and the others beside it,
// less and less the more there are,
//
//	ln w = ln max w_i + sum of ln max(w_i / max w_i, oddState) / n^stateDamping
//
// The best alone would let any state speak for an arrangement, the whole product would
// take loads that stay on for evidence anew each time.
func (sc *Scene) weighOthers(states [][3]evidence.Observation, sort loadmodel.Sort, out *[prior.Arrangements]float64) {
	all := [][prior.Arrangements]float64{*out}
	for i := range states {
		other := NewScene(sc.Frame, &states[i], sort)
		if other.judged == sc.judged {
			all = append(all, [prior.Arrangements]float64{})
			other.weigh(&all[len(all)-1])
		}
	}
	if len(all) == 1 {
		return
	}
	power := math.Pow(float64(len(all)), -stateDamping)
	for a := range out {
		most := 0.0
		for i := range all {
			most = max(most, all[i][a])
		}
		if most == 0 {
			continue
		}
		rest := 1.0
		for i := range all {
			rest *= max(all[i][a]/most, oddState)
		}
		out[a] = most * math.Pow(rest, power)
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
