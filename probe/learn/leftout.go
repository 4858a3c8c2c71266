package learn

import (
	"math"
	"slices"
)

// A channel with a dead voltage, or without current, is easily left out: fewer
// channels explain the rest as well.

// addLeftOut looks for one channel more than an explanation has, where a voltage is
// dead or low, or no current flows: at the stride of the channels, half-way between
// two, or, beside a single one, anywhere.
//
// Where the first channel was measured there may be no other, and only one that carries
// power counts.
func (e *explanation) addLeftOut(l *library) {
	most, idle := 0., measuredTo(l.measured) < len(e.p.of)
	for _, by := range e.otherPlaces() {
		most = math.Max(most, l.leftOut(e, by, idle))
	}
	if most > 0 {
		e.add("a channel left out", -most)
	}
}

// leavesOut reports that a channel more was found beside an explanation, but no
// explanation with it, or that one carries nothing though current flows: a register that
// counts one direction reads so. Whoever measured all channels knows.
func (e *explanation) leavesOut(measured []Measured) bool {
	return (e.gave("a channel left out") < 0 || e.gave("no power") < 0) && measuredTo(measured) < len(e.p.of)
}

// otherPlaces lists how far from the first channel another one could stand.
func (e *explanation) otherPlaces() []func(g *group) int {
	if len(e.v.of) > 1 {
		out := []func(*group) int{
			func(g *group) int { return -g.stride },
			func(g *group) int { return len(g.of) * g.stride },
		}
		if e.v.stride != e.i.stride {
			out = append(out, func(g *group) int { return -g.size() })
		}
		if stride := e.v.stride; len(e.v.of) == 2 && stride%2 == 0 && stride >= 2*e.v.size() {
			out = append(out, func(g *group) int { return g.stride / 2 })
		}
		return out
	}
	var out []func(*group) int
	for d := 1; d <= farthest; d++ {
		out = append(out, func(g *group) int { return d }, func(g *group) int { return -d })
	}
	return append(out, func(g *group) int { return g.size() }, func(g *group) int { return -g.size() })
}

// leftOut weighs that a channel stands so far from the first one. idle allows for one
// that carries no power.
func (l *library) leftOut(e *explanation, by func(g *group) int, idle bool) float64 {
	at := func(g *group) *series { return l.at(g.form, place{g.table, g.at + by(g)}) }
	v, i, p := at(e.v.group), at(e.i), at(e.p)
	if v == nil || i == nil || p == nil || v == p || v == i || i == p {
		return 0
	}
	single := len(e.v.of) == 1
	if before := by(e.i) < 0; idle && !single && before && i.zero() && p.zero() && (v.zero() || e.alsoLive(v) && !v.likeFrequency() && e.nothingElse(at)) {
		return 10 // slots are filled from the first on
	}
	for _, s := range []*series{v, i, p} {
		for _, g := range []*group{e.v.group, e.i, e.p} {
			if inside(s, g) {
				return 0
			}
		}
	}
	if single && (l.isFound(e, v) || l.isFound(e, i)) {
		return 0
	}
	most := e.i.most()
	flows := (i.moves() || i.coarse(i.mid) > 0.01) && i.low > 0 && i.high < 20*most && i.low > most/100
	switch {
	case idle && flows && little(p, e.p) && (little(v, e.v.group) || single && e.noHigher(v) && e.nothingElse(at)):
		if single && !v.zero() {
			return 6
		}
		return 9
	case idle && i.zero() && p.zero() && e.alsoLive(v) && !v.likeFrequency() && (!e.restsOn(v, i) || e.leavesSlot()):
		return 9
	case flows && (e.nearLive(v) || e.alsoLive(v)) && !e.restsOn(v, i) &&
		(e.between(v) && e.alsoLive(v) || e.carries(v, i, p) || e.multiplies(v, i, at)):
		return 6
	}
	return 0
}

// between reports a place between the channels: nothing but another channel has both a
// voltage and a current there, however its power is read.
func (e *explanation) between(s *series) bool { return s.at > e.v.at && s.at < e.v.last() }

// little reports next to nothing beside a group, as a dead input reads in floats.
func little(s *series, g *group) bool { return s.most() < 1e-3*g.most() && (s.float() || s.zero()) }

// isFound reports the number of something else that was found of a single channel, such
// as the total of it, or half of one.
func (l *library) isFound(e *explanation, s *series) bool {
	for _, g := range []*group{e.s, e.q, e.pf, e.p} {
		if g == nil || g == e.p && g.size() == 1 { // another channel can carry as much
			continue
		}
		for at := s.at - g.size() + 1; at <= s.at; at++ {
			t := l.at(g.form, place{s.block.Table, at})
			if t != nil && t.mid != 0 && math.Abs(g.of[0].mid/t.mid-1) < 0.01 {
				return true
			}
		}
	}
	return false
}

// nearLive reports a voltage that may be a low one beside the first.
func (e *explanation) nearLive(v *series) bool {
	first := e.v.of[0].low
	return v.moves() && v.low > 0.1*first && e.noHigher(v)
}

// noHigher reports what could be a voltage of the same service, however low.
func (e *explanation) noHigher(v *series) bool { return v.low >= 0 && v.high < 1.3*e.v.of[0].low }

// alsoLive reports a voltage of the same service, the high leg of a delta among them.
func (e *explanation) alsoLive(v *series) bool {
	ratio := math.Abs(v.mid / e.v.of[0].mid)
	near := func(x float64) bool { return math.Abs(ratio/x-1) < 0.06 }
	moves := v.moves() || v.coarse(v.mid) > stillStep // or by less than a step
	return v.mains() && moves && (math.Abs(ratio-1) < alikeWithin || near(rootThree) || near(1/rootThree))
}

// nothingElse reports that two of what else was found are zero at a place.
func (e *explanation) nothingElse(at func(*group) *series) bool {
	n := 0
	for _, g := range []*group{e.s, e.q, e.pf} {
		if g == nil {
			continue
		}
		if s := at(g); s != nil && s.zero() {
			n++
		}
	}
	return n >= 2
}

// carries reports a power that goes with a voltage and a current, as steadily as that of
// the first channel.
func (e *explanation) carries(v, i, p *series) bool {
	share := make([]float64, len(p.x))
	for r := range share {
		share[r] = p.x[r] / (v.x[r] * i.x[r]) * math.Pow10(-e.ten)
	}
	size := math.Max(-slices.Min(share), slices.Max(share))
	apart := 0.03
	if first := e.share[0]; first != nil {
		apart += slices.Max(first) - slices.Min(first)
	}
	fuzz := v.coarse(v.mid) + i.coarse(i.mid) + p.coarse(p.mid)
	apart += 2 * fuzz
	return size > 0.2 && size < 1+powerSlack+fuzz && slices.Max(share)-slices.Min(share) < apart
}

// multiplies reports that V I is the apparent power beside, as it is that of the first
// channel: then it is a channel, however little of it is active.
func (e *explanation) multiplies(v, i *series, at func(*group) *series) bool {
	if e.s == nil {
		return false
	}
	s := at(e.s)
	if s == nil || s == v || s == i || s.low <= 0 {
		return false
	}
	fuzz := v.coarse(v.mid) + i.coarse(i.mid) + s.coarse(s.mid)
	for r, x := range s.x {
		if math.Abs(x/(v.x[r]*i.x[r]*math.Pow10(e.ten))-1) > fuzz+2*instantSlack {
			return false
		}
	}
	return true
}

// leavesSlot reports a total after room for one channel more: then a mean stands there too.
func (e *explanation) leavesSlot() bool {
	return e.pt != nil && len(e.p.of) > 1 && e.pt.at == e.p.at+(len(e.p.of)+1)*e.p.stride
}

// restsOn reports a voltage or a current that is the mean of an explanation's, or
// the same to the last digit.
func (e *explanation) restsOn(v, i *series) bool {
	return isMean(e.v.with(v), v) || isMean(e.i.with(i), i)
}
