package learn

import "math"

// anchor is a group that could be the voltages of the channels.
type anchor struct {
	*group
	ten   int // volts = value x 10^ten
	score float64
}

// explanation joins quantities of the same channels. Its numbers are those of
// the registers: P = V I cos 10^ten.
type explanation struct {
	v        anchor
	i, p     *group
	ten      int
	share    [][]float64 // P over V I, a channel and a round each; nil where nothing flows
	mid      []float64   // its middle over the rounds
	steady   []float64   // how much its share looks steady
	fuzz     []float64   // how coarse a channel's share is
	one      float64     // how much P looks like V I itself
	s, q, pf *group
	pfTen    int
	pt, qt   *series
	idle     bool           // a channel has no current, or no voltage
	rivals   []*explanation // of the same currents
	score    float64
	shown    float64    // how well it goes with what was measured, beside the score
	weighed  []weighing // what the score is made of
}

// weighing is one part of a score.
type weighing struct {
	what  string
	score float64
}

func (e *explanation) add(what string, score float64) {
	e.score += score
	e.weighed = append(e.weighed, weighing{what, score})
}

// gave is what one weighing gave.
func (e *explanation) gave(what string) float64 {
	sum := 0.
	for _, w := range e.weighed {
		if w.what == what {
			sum += w.score
		}
	}
	return sum
}

// uses reports that an explanation has a group's registers already, for
// something other than the reactive power.
func (e *explanation) uses(g *group) bool {
	for _, other := range []*group{e.p, e.s, e.pf, alone(e.pt)} {
		if other != nil && overlap(other, g) {
			return true
		}
	}
	return false
}

// part is what of a view is written into the map: a group, or one series.
type part struct {
	*group
	signed bool // can be below zero by what it is
}

// parts lists what an explanation has found.
func (e *explanation) parts() []part {
	all := []part{{e.v.group, false}, {e.i, false}, {e.p, true}}
	for _, p := range []part{{e.s, false}, {e.q, true}, {e.pf, true}, {alone(e.pt), true}, {alone(e.qt), true}} {
		if p.group != nil {
			all = append(all, p)
		}
	}
	return all
}

// logLoad weighs that loads have so much of V I as power: seldom little, but where CTs
// are on other legs. Our choice, no source.
func logLoad(share float64) float64 { return math.Log(0.3 + 0.7*math.Min(1, math.Abs(share))) }

// lower takes all factors as a tenth.
func (e *explanation) lower() {
	e.ten++
	for k, share := range e.share {
		if share != nil {
			e.add("load", logLoad(share[0]/10)-logLoad(share[0]))
		}
		for r := range share {
			share[r] /= 10
		}
		e.mid[k] /= 10
	}
	e.one = 0
	e.add("low factor", -1.5)
}
