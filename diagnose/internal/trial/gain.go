package trial

import (
	"math"
	"slices"

	"legwork/diagnose/internal/infer"
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
func sure(key func(h *infer.Hypothesis) int) func(h *infer.Hypothesis) outcomes {
	return func(h *infer.Hypothesis) (o outcomes) {
		o.add(key(h), 1)
		return o
	}
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
func (t *trial) gain(all []infer.Hypothesis) float64 {
	var sum tallied
	var left, total float64
	for i := range all {
		if i > 0 && firstClaim(all, i) < i {
			continue // counted with the first of its claim
		}
		var of tallied
		for j := i; j < len(all); j++ {
			if !all[i].Claims(&all[j]) {
				continue
			}
			o := t.outcome(&all[j])
			for _, way := range o.all[:o.n] {
				of.add(way.key, all[j].Weight*way.p)
				sum.add(way.key, all[j].Weight*way.p)
			}
			total += all[j].Weight
		}
		left += of.total() * entropy(of.weights)
	}
	if total == 0 {
		return 0
	}
	return math.Max(0, entropy(sum.weights)-left/total)
}

func firstClaim(all []infer.Hypothesis, i int) int {
	return slices.IndexFunc(all, func(h infer.Hypothesis) bool { return h.Claims(&all[i]) })
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
