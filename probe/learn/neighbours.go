package learn

import "math"

// What else of the like stands beside voltages: a copy, a mean, a channel left out.

// weighNeighbours lowers the score where like voltages stand before the first channel,
// between two, or after the last one of fewer than three.
func (l *library) weighNeighbours(a *anchor, middle float64) {
	like := func(at int) bool {
		s := l.at(a.form, place{a.table, at})
		return s != nil && s.mains() && !s.likeFrequency() && math.Abs(s.x[0]/middle-1) < 0.05 &&
			(s.moves() || l.rounds == 1 || s.coarse(middle) > stillStep)
	}
	if n := len(a.of); n > 1 {
		between := a.stride > a.size() && a.stride <= byQuantity
		switch before := like(a.at - a.stride); {
		case between && like(a.at-a.size()) || before && !l.couldBeMean(a.group, -1):
			a.score -= 3
			if n == 3 || a.stride > byQuantity {
				a.score -= 3
			}
		case before && !l.meanBefore(a.group):
			a.score -= 1.5
		}
		if n == 3 && a.of[0].coarse(middle) <= stillStep && like(a.at+n*a.stride) && !l.couldBeMean(a.group, n) {
			a.score -= 1.5
		}
		if between && (like(a.at+a.size()) || a.stride == 2*a.size() && l.highLeg(a, middle)) {
			a.score -= 5
		}
		if n == 2 && measuredTo(l.measured) != 2 && like(a.at+2*a.stride) && !l.couldBeMean(a.group, 2) {
			a.score -= 1
			if a.stride <= byQuantity {
				a.score -= 1.5
			}
		}
		if first := *a.group; n == 3 {
			first.of = first.of[:2]
			switch follows := l.meanFollows(&first); {
			case !follows || measuredTo(l.measured) == 3:
			case first.of[0].coarse(middle) > stillStep: // so does many a third channel
				a.score -= 3
			default:
				a.score -= 12
			}
		}
		return
	}
	other := func(at int) bool { // than a mean of one channel, or a copy
		return like(at) && !equal(a.group, alone(l.at(a.form, place{a.table, at})))
	}
	for _, d := range []int{1, 2, 3, 4} {
		if d >= a.size() && (other(a.at-d) || other(a.at+d)) {
			a.score -= 5
			break
		}
	}
}

// couldBeMean reports that what stands so many strides from the first voltage is the mean
// of all, as far as they move and their steps tell.
func (l *library) couldBeMean(g *group, by int) bool {
	s := l.at(g.form, place{g.table, g.at + by*g.stride})
	if s == nil || s.coarse(s.mid) > stillStep {
		return false
	}
	fits, _ := shareFits(g.with(s), s, 1/float64(len(g.of)))
	return fits
}

// meanBefore reports that what stands before the first channel is the mean of all.
func (l *library) meanBefore(g *group) bool {
	s := l.at(g.form, place{g.table, g.at - g.stride})
	return s != nil && g.fine() && isMean(g.with(s), s)
}

// highLeg reports the high leg of a delta between the first two of a group.
func (l *library) highLeg(a *anchor, middle float64) bool {
	s := l.at(a.form, place{a.table, a.at + a.size()})
	return s != nil && s.mains() && s.moves() && math.Abs(s.x[0]/middle/rootThree-1) < 0.06
}
