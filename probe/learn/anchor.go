package learn

import (
	"math"
	"slices"
)

// How much a group looks like the voltages of the channels, by its own numbers.

// weighAnchor says how much a group looks like voltages.
func (l *library) weighAnchor(g *group) (anchor, bool) {
	sizes := make([]float64, len(g.of))
	for k, s := range g.of {
		sizes[k] = s.x[0]
	}
	middle := typical(sizes)
	if x := l.measuredAmong(sizes); x > 0 {
		middle = x
	}
	a := anchor{group: g}
	if middle <= 0 {
		return a, false
	}
	if !g.float() {
		a.ten = tens(middle)
	}
	if ten, ok := l.lowTen(g.of[0]); ok && len(g.of) == 1 {
		a.ten = ten
	} else if volts := middle * math.Pow10(a.ten); volts < 50 || volts > 800 {
		return a, false
	}
	volts := middle * math.Pow10(a.ten)
	a.score -= 2
	for _, nominal := range nominals {
		if math.Abs(volts/nominal-1) < 0.07 {
			a.score += 2
			break
		}
	}
	odd, still := 0, true
	for k, s := range g.of {
		if s.low < 0 || s.high > 1.2*s.low && s.low > 0.5*middle {
			return a, false
		}
		if l.isMeasured(k, s.x[0]*math.Pow10(a.ten)) {
			a.score += 2
			still = still && !s.moves()
			continue
		}
		still = still && !s.moves()
		switch ratio := s.x[0] / middle; {
		case math.Abs(ratio-1) < 0.025:
			a.score += 2
		case math.Abs(ratio-1) < 0.05:
			a.score += 0.5
		case math.Abs(ratio-1) < alikeWithin:
			a.score -= 1.5 // currents are alike so far as well
		case math.Abs(ratio/rootThree-1) < 0.06: // the high leg of a delta
			a.score -= 0.5
			odd++
		case ratio < 0.9: // an input that is dead, or fed back
			a.score -= 4
			odd++
		default:
			return a, false
		}
	}
	if odd > 1 || odd == len(g.of) {
		return a, false
	}
	a.score += l.wideStride(g) + l.unlikeMeasured(&a)
	if g.repeats() {
		a.score -= 4 // as a mean does
	}
	if l.takesMean(g) {
		a.score -= 12
	}
	if still && l.rounds > 1 {
		a.score -= 5
		if g.of[0].coarse(middle) > stillStep {
			a.score += 4.5
		}
	}
	if g.float() {
		a.score += 2
	} else if g.size() == 2 {
		a.score -= 0.5
	}
	l.weighNeighbours(&a, middle)
	return a, true
}

// likeFrequency reports what may be a frequency in tenths or hundredths of a hertz: it
// reads as 500 or 600 V.
func (s *series) likeFrequency() bool {
	return slices.ContainsFunc([]float64{500, 600, 5000, 6000}, func(x float64) bool {
		return !s.float() && math.Abs(s.mid/x-1) < 0.003
	})
}

// wideStride weighs that of the many strides that there are this one is meant.
func (l *library) wideStride(g *group) float64 {
	switch {
	case g.stride > 128:
		return -3
	case g.stride > byQuantity:
		return -1.5
	}
	return 0
}

// typical is the middle one of the live values; where two of three agree, theirs.
func typical(x []float64) float64 {
	sorted := slices.Clone(x)
	slices.Sort(sorted)
	switch len(sorted) {
	case 3:
		if sorted[2]-sorted[1] < sorted[1]-sorted[0] {
			return (sorted[1] + sorted[2]) / 2
		}
		return (sorted[0] + sorted[1]) / 2
	case 2:
		if sorted[0] < sorted[1]/2 {
			return sorted[1]
		}
		return (sorted[0] + sorted[1]) / 2
	}
	return sorted[0]
}
