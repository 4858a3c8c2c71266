package diagnose

import "legwork/diagnose/wiring"

// posterior holds the weight of every arrangement under every frame. The
// weights of all frames together sum to one, unless nothing was judged.
type posterior struct {
	frames  []frame
	weights [][arrangements]float64 // by frame
	judged  [3]bool                 // under the likeliest frame
	sights  [3]sight                // of the base: the state whose load angles were weighed
	now     [3]sight                // of the present state

	generation bool // power may flow back

	// told is, by frame, the probability of what a person's tests showed under
	// each arrangement; nil where there were none.
	told [][arrangements]float64
}

// infer weighs every arrangement under every frame by the states that may be the
// ordinary one of the panel, each as likely as the others; the first is the base.
func infer(frames []frame, states [][3]sight, generation bool) posterior {
	p := posterior{frames: frames, weights: make([][arrangements]float64, len(frames)), sights: states[0], generation: generation}
	var sum, most float64
	for f := range frames {
		sc := newScene(&frames[f], &states[0])
		sc.generation = generation
		sc.weigh(&p.weights[f])
		sc.weighOthers(states[1:], &p.weights[f])
		mass := 0.0
		for _, w := range p.weights[f] {
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
// show the same channels.
func (sc *scene) weighOthers(states [][3]sight, out *[arrangements]float64) {
	n := 1.0
	for i := range states {
		other := newScene(sc.frame, &states[i])
		if other.judged != sc.judged {
			continue
		}
		n++
		other.generation = sc.generation
		var weights [arrangements]float64
		other.weigh(&weights)
		for a, w := range weights {
			out[a] += w
		}
	}
	for a := range out {
		out[a] /= n
	}
}

func (p *posterior) setJudged(bits int) {
	for k := range p.judged {
		p.judged[k] = bits>>k&1 == 1
	}
}

func (p *posterior) scale(sum float64) {
	if sum == 0 {
		return
	}
	for f := range p.weights {
		for a := range p.weights[f] {
			p.weights[f][a] /= sum
		}
	}
}

// arrangementOf gives a numbered arrangement, with NoLeg where not judged.
func arrangementOf(number int, judged [3]bool) wiring.Arrangement {
	var a wiring.Arrangement
	for k, d := range digitsOf(number) {
		if judged[k] {
			a[k] = ctOf(d)
		}
	}
	return a
}
