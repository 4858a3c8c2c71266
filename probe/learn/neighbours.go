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
		if like(a.at-a.stride) && !l.meanBefore(a.group) || between && like(a.at-a.size()) {
			a.score -= 3
			if n == 3 || a.stride > byQuantity {
				a.score -= 3
			}
		}
		if between && (like(a.at+a.size()) || a.stride == 2*a.size() && l.highLeg(a, middle)) {
			a.score -= 5
		}
		if n == 2 && like(a.at+2*a.stride) && !l.couldBeMean(a.group) {
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

// couldBeMean reports that what follows two voltages is their mean, as far as their
// steps tell.
func (l *library) couldBeMean(g *group) bool {
	s := l.at(g.form, place{g.table, g.at + 2*g.stride})
	return isMean(g.with(s), s)
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
