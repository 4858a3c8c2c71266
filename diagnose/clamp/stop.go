package clamp

import (
	"fmt"
	"math"

	"legwork/diagnose/wiring"
)

// stop compares nothing: the neutral of the service may be lost.
func (r *Result) stop() {
	const words = "the neutral of the service may be lost, which destroys loads: keep away from the panel, take the " +
		"clamp nowhere near it, switch nothing, and tell those answerable for the supply"
	r.Verdict, r.Summary = wiring.Undecided, sentence(words)
	r.Explanations = []Explanation{{Cause: KeepAway, Channels: []int{}, Legs: []int{}, Words: words}}
	r.Cautions = []string{sentence(words)}
}

// ratingsApart is the ratio of two ratings from which on they disagree; our choice, under
// the step of any two standard ones.
const ratingsApart = 1.02

// tellRatings says where what the meter says of its CTs, what was said it is set to and
// what the CTs are don't agree. Whatever the clamp shows, one of them is wrong.
func (r *Result) tellRatings(o Options, meters float64) {
	said := []struct {
		amps float64
		by   string
	}{{meters, "the meter says that it is set to"}, {o.Set.Primary, "it was said to be set to"}, {o.Plate.Primary,
		"the job sheet says"}}
	for i, a := range said {
		for _, b := range said[i+1:] {
			if a.amps <= 0 || b.amps <= 0 || math.Abs(math.Log(a.amps/b.amps)) < math.Log(ratingsApart) {
				continue
			}
			r.Explanations = append(r.Explanations, Explanation{Cause: RatingsTold, Quantity: "current",
				Channels: []int{}, Legs: []int{},
				Words: fmt.Sprintf("%s CTs of %g A, and %s %g A: read the plates of the CTs and the meter's setting, and put "+
					"right the one that is wrong", a.by, a.amps, b.by, b.amps)})
			return
		}
	}
}
