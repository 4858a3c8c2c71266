package learn

import (
	"legwork/probe/learn/image"
)

// explanations lists what the image could hold, the likeliest first.
func explanations(im *image.Image) []*explanation {
	l := read(im)
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
