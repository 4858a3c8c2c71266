package learn

import (
	"legwork/probe/learn/image"
)

// Understand finds out what an image holds. What was measured helps; without it
// the power of ten of the currents is mostly open.
func Understand(im *image.Image, measured []Measured) *Result {
	l := read(im)
	l.measured = measured
	all := views(l.explanations(), measured)
	return l.conclude(all, measured)
}

// explanations lists what the image could hold, the likeliest first.
func (l *library) explanations() []*explanation {
	var all []*explanation
	for _, c := range contexts() {
		for n := 3; n >= 1; n-- {
			anchors := l.anchors(c, n)
			for i := range anchors {
				some := l.explain(&anchors[i], c)
				l.refine(some, &anchors[i], anchors, c)
				all = append(all, some...)
			}
		}
	}
	return best(all, mostExplanations)
}
