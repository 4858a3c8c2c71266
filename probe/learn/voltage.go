package learn

import (
	"cmp"
	"math"
	"slices"

	"legwork/probe/reading"
)

// Voltages of low-voltage services, V (IEC 60038 Table 1 and, for North America,
// common practice, no source). A line voltage can stand for a channel's on a
// delta.
var nominals = [...]float64{100, 110, 115, 120, 127, 200, 208, 220, 230, 240, 277, 347, 380, 400, 415, 440, 480, 600,
	690}

// leastMains begins the one decade in which all of them lie.
const leastMains = 76

const (
	widestStride = 512
	mostAnchors  = 12     // with channels side by side
	mostWide     = 10     // with more between them
	alikeWithin  = 0.12   // of voltages of one service
	stillStep    = 0.0015 // of a voltage, by steps of which it stands still
	rootThree    = 1.7320508
)

// tens is the power of ten that makes a mains voltage of x.
func tens(x float64) int {
	return -int(math.Floor(math.Log10(x / leastMains)))
}

// mains reports a series that could be a live voltage.
func (s *series) mains() bool {
	if s.low <= 0 || s.high > 1.15*s.low {
		return false
	}
	if s.float() {
		return s.low > 50 && s.high < 800
	}
	return s.low >= leastMains
}

// anchors lists what could be the voltages of n channels, the likeliest first.
func (l *library) anchors(c context, n int) []anchor {
	var all []anchor
	for _, f := range c {
		if f.signed() && f.size() == 1 {
			continue
		}
		var live []place
		for _, p := range l.places(f) {
			if s := l.shelves[f][p]; s.mains() || l.lowShown(s) {
				live = append(live, p)
			}
		}
		for from := range l.starts(f, live, n) {
			if g := l.gather(f, from.place, from.stride, n); g != nil {
				if a, ok := l.weighAnchor(g); ok {
					all = append(all, a)
				}
			}
		}
	}
	slices.SortFunc(all, func(a, b anchor) int {
		return cmp.Or(cmp.Compare(b.score, a.score), cmp.Compare(a.table, b.table), cmp.Compare(a.at, b.at),
			cmp.Compare(a.stride, b.stride), cmp.Compare(a.typ, b.typ))
	})
	room := map[bool]int{false: mostAnchors, true: mostWide}
	return slices.DeleteFunc(all, func(a anchor) bool {
		wide := a.stride > byQuantity
		room[wide]--
		return room[wide] < 0
	})
}

type start struct {
	place
	stride int
}

// starts lists where n voltages could begin, two of which are live and alike.
func (l *library) starts(f form, live []place, n int) map[start]bool {
	found := map[start]bool{}
	if n == 1 {
		for _, p := range live {
			found[start{p, 0}] = true
		}
		return found
	}
	strides := []int{f.size(), 2 * f.size(), 3 * f.size(), 4 * f.size()}
	if n == 2 {
		strides = append(strides, l.clampedStrides(f)...)
	}
	most := 0.62 // as the high leg of a delta
	if slices.ContainsFunc(l.measured, func(m Measured) bool { return m.Point.Quantity == reading.Voltage }) {
		most = 3
	}
	for x, p := range live {
		for _, stride := range strides { // the other input may be dead
			for _, at := range []int{p.at - stride, p.at + stride} {
				if s := l.at(f, place{p.table, at}); n == 2 && s != nil && s.zero() {
					found[start{place{p.table, min(at, p.at)}, stride}] = true
				}
			}
		}
		for _, q := range live[x+1:] {
			apart := q.at - p.at
			if q.table != p.table || apart > widestStride*(n-1) {
				break
			}
			far := most
			if n == 2 && apart <= byQuantity { // one of them may be low
				far = 2
			}
			if ratio := l.shelves[f][q].x[0] / l.shelves[f][p].x[0]; math.Abs(math.Log(ratio)) > far {
				continue
			}
			for i := range n - 1 {
				for j := i + 1; j < n; j++ {
					stride := apart / (j - i)
					if apart%(j-i) == 0 && stride >= f.size() && stride <= widestStride {
						found[start{place{p.table, p.at - i*stride}, stride}] = true
					}
				}
			}
		}
	}
	return found
}

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
	return a, l.alone(&a, middle)
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

// lowShown reports a voltage too low for the mains that a voltmeter shows.
func (l *library) lowShown(s *series) bool {
	_, ok := l.lowTen(s)
	return ok
}

// lowTen is the power of ten that makes it that voltage.
func (l *library) lowTen(s *series) (ten int, ok bool) {
	for _, m := range l.measured {
		if s.low <= 0 || m.Point.Quantity != reading.Voltage || m.Value < 5 || m.Value > leastMains {
			continue
		}
		if ten = 0; !s.float() {
			ten = int(math.Round(math.Log10(m.Value / s.mid)))
		}
		if math.Abs(s.mid*math.Pow10(ten)-m.Value) < 0.03*m.Value {
			return ten, true
		}
	}
	return 0, false
}

// isMeasured reports what a voltmeter shows of channel k, from 0.
func (l *library) isMeasured(k int, volts float64) bool {
	return slices.ContainsFunc(l.measured, func(m Measured) bool {
		return m.Point.Quantity == reading.Voltage && m.Point.Index == k+1 && math.Abs(m.Value-volts) < 0.03*m.Value+0.3
	})
}

// measuredAmong is one of a group's values that a voltmeter shows but for the
// power of ten, 0 where there is none.
func (l *library) measuredAmong(sizes []float64) float64 {
	for k, x := range sizes {
		if x > 0 && l.isMeasured(k, x*math.Pow10(tens(x))) {
			return x
		}
	}
	return 0
}

// unlikeMeasured lowers the score where a voltmeter shows something else.
func (l *library) unlikeMeasured(a *anchor) float64 {
	for _, m := range l.measured {
		if m.Point.Quantity != reading.Voltage || m.Point.Index > len(a.of) {
			continue
		}
		if x := a.of[m.Point.Index-1].x[0] * math.Pow10(a.ten); math.Abs(x-m.Value) > 0.06*m.Value+2 {
			return -5
		}
	}
	return 0
}

// alone lowers the score where like voltages stand before the first channel,
// between two, or after the last one of fewer than three. It always says yes.
func (l *library) alone(a *anchor, middle float64) bool {
	like := func(at int) bool {
		s := l.at(a.form, place{a.table, at})
		return s != nil && s.mains() && !s.likeFrequency() && math.Abs(s.x[0]/middle-1) < 0.05 &&
			(s.moves() || l.rounds == 1 || s.coarse(middle) > stillStep)
	}
	if n := len(a.of); n > 1 {
		between := a.stride > a.size() && a.stride <= byQuantity
		if like(a.at-a.stride) || between && like(a.at-a.size()) {
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
		return true
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
	return true
}

// couldBeMean reports that what follows two voltages is their mean, as far as their
// steps tell.
func (l *library) couldBeMean(g *group) bool {
	s := l.at(g.form, place{g.table, g.at + 2*g.stride})
	return isMean(g.with(s), s)
}

// highLeg reports the high leg of a delta between the first two of a group.
func (l *library) highLeg(a *anchor, middle float64) bool {
	s := l.at(a.form, place{a.table, a.at + a.size()})
	return s != nil && s.mains() && s.moves() && math.Abs(s.x[0]/middle/rootThree-1) < 0.06
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
