package diagnose

import (
	"math"
	"slices"
)

// outcomes are the ways in which a test can come out: at most one for each
// choice of up or down on three channels.
type outcomes struct {
	n   int
	all [8]struct {
		key int
		p   float64
	}
}

// add counts one more way.
func (o *outcomes) add(key int, p float64) {
	if p > 0 {
		o.all[o.n].key, o.all[o.n].p = key, p
		o.n++
	}
}

// sure is a test whose outcome a hypothesis tells for certain.
func sure(key func(h *hypothesis) int) func(h *hypothesis) outcomes {
	return func(h *hypothesis) (o outcomes) {
		o.add(key(h), 1)
		return o
	}
}

// hypothesis is one arrangement under one frame, with its weight.
type hypothesis struct {
	frame  *frame
	digit  [3]int // -1 where not judged
	weight float64
}

// claims reports whether two hypotheses say the same of what a person would
// mend: of where the CTs are and of the inputs. Of which sequence it is, or
// which service, only what follows for those counts.
func (h *hypothesis) claims(o *hypothesis) bool {
	return h.digit == o.digit && h.frame.state == o.frame.state
}

// hypotheses lists what is worth telling apart.
func (p *posterior) hypotheses() []hypothesis {
	var all []hypothesis
	for f := range p.frames {
		judged := unpack(p.judgedUnder(&p.frames[f]))
		for a, w := range p.weights[f] {
			if w < leastGroup/4 {
				continue
			}
			all = append(all, hypothesisOf(&p.frames[f], a, judged, w))
		}
	}
	return all
}

func hypothesisOf(f *frame, number int, judged [3]bool, weight float64) hypothesis {
	h := hypothesis{f, digitsOf(number), weight}
	for k := range h.digit {
		if !judged[k] {
			h.digit[k] = -1
		}
	}
	return h
}

// entropy of weights, in bits.
func entropy(weights []float64) float64 {
	var sum, h float64
	for _, w := range weights {
		sum += w
	}
	for _, w := range weights {
		if w > 0 {
			h -= w / sum * math.Log2(w/sum)
		}
	}
	return h
}

// gain is the expected drop of entropy over what the hypotheses claim, in bits:
// the entropy of the outcomes, less that which is left when the claim is known.
func (t *trial) gain(all []hypothesis) float64 {
	var sum tallied
	var left, total float64
	for i := range all {
		if i > 0 && firstClaim(all, i) < i {
			continue // counted with the first of its claim
		}
		var of tallied
		for j := i; j < len(all); j++ {
			if !all[i].claims(&all[j]) {
				continue
			}
			o := t.outcome(&all[j])
			for _, way := range o.all[:o.n] {
				of.add(way.key, all[j].weight*way.p)
				sum.add(way.key, all[j].weight*way.p)
			}
			total += all[j].weight
		}
		left += of.total() * entropy(of.weights)
	}
	if total == 0 {
		return 0
	}
	return math.Max(0, entropy(sum.weights)-left/total)
}

func firstClaim(all []hypothesis, i int) int {
	return slices.IndexFunc(all, func(h hypothesis) bool { return h.claims(&all[i]) })
}

// tallied is how probable each outcome of a test is.
type tallied struct {
	keys    []int
	weights []float64
}

func (s *tallied) add(key int, weight float64) {
	at := slices.Index(s.keys, key)
	if at < 0 {
		at = len(s.keys)
		s.keys, s.weights = append(s.keys, key), append(s.weights, 0)
	}
	s.weights[at] += weight
}

func (s *tallied) total() (sum float64) {
	for _, w := range s.weights {
		sum += w
	}
	return sum
}
