package learn

import (
	"runtime"
	"slices"

	"golang.org/x/sync/errgroup"

	"legwork/probe/learn/image"
	"legwork/probe/reading"
)

// Understand finds out what an image holds. What was measured helps; without it
// the power of ten of the currents is mostly open.
func Understand(im *image.Image, measured []Measured) *Result {
	l := read(im)
	l.measured = sizes(measured)
	all := views(l.explanations(), measured)
	r := l.conclude(all, measured)
	r.Unfit = r.unfit(measured)
	if r.Settled {
		r.Sole = r.sole(measured)
		return r
	}
	r.Lacked, r.Rival = r.lacked(measured), l.rival(all)
	return r
}

// plainly is a score from which fewer channels aren't looked for, unless fewer were
// measured.
const plainly = 45

// measuredChannels is how many channels there are at most, by what was measured.
func measuredChannels(measured []Measured) int {
	if most := measuredTo(measured); most > 0 {
		return most
	}
	return reading.MaxChannels
}

// explanations lists what the image could hold, the likeliest first.
func (l *library) explanations() []*explanation {
	for _, f := range forms() {
		l.places(f) // from here on the library is only read
	}
	var all []*explanation
	for n := 3; n >= 1; n-- {
		all = best(append(all, l.ofChannels(n)...), mostExplanations)
		if len(all) > 0 && all[0].score > plainly && !all[0].idle && n <= measuredChannels(l.measured) {
			break // it would fit fewer channels as well, only less
		}
	}
	return best(all, mostExplanations)
}

// ofChannels lists the explanations of so many channels, in the order of their anchors.
func (l *library) ofChannels(n int) []*explanation {
	var work []func() []*explanation
	for _, c := range contexts() {
		anchors := l.anchors(c, n)
		for i := range anchors {
			work = append(work, func() []*explanation {
				some := l.explain(&anchors[i], c)
				l.refine(some, &anchors[i], anchors, c)
				return some
			})
		}
	}
	found := make([][]*explanation, len(work))
	var group errgroup.Group
	group.SetLimit(runtime.GOMAXPROCS(0))
	for i := range work {
		group.Go(func() error {
			found[i] = work[i]()
			return nil
		})
	}
	_ = group.Wait() // none fails
	return slices.Concat(found...)
}
