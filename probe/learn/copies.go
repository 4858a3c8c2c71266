package learn

import "math"

// A meter may give its quantities twice. How long values are may be told of one copy
// where it can't of the other.

// mostCopies is how many copies are looked at.
const mostCopies = 3

// surest is the likeliest view, or a copy of it that stands in registers more surely. own
// is how probable the copy is beside others of its voltages.
func (l *library) surest(all []*view, measured []Measured) (v *view, st standings, own float64) {
	v, own = all[0], 1
	l.chooseReactive(v.explanation)
	st = l.stand(v.explanation)
	most, tried := st.surely(v.explanation), 0
	for _, w := range all[1:] {
		if most > sure || tried == mostCopies {
			break
		}
		if !w.copies(all[0]) {
			continue
		}
		tried++
		chance := w.ownChance(all, measured)
		if chance < most {
			continue
		}
		l.chooseReactive(w.explanation)
		if stands := l.stand(w.explanation); chance*stands.surely(w.explanation) > most {
			v, st, own, most = w, stands, chance, chance*stands.surely(w.explanation)
		}
	}
	return v, st, own
}

// copies reports a view that means the same by other registers: all of them, or such as
// hold the same numbers.
func (v *view) copies(w *view) bool {
	apart, equals, same := true, true, true
	for _, pair := range [][2]*group{{v.v.group, w.v.group}, {v.i, w.i}, {v.p, w.p}} {
		a, b := pair[0], pair[1]
		if len(a.of) != len(b.of) {
			return false
		}
		apart, same = apart && !overlap(a, b), same && a.covers(b)
		equals = equals && (a.covers(b) || equal(a, b))
	}
	return (apart || equals && !same) && v.agree(w)
}

// ownChance is how probable a view is beside all others with its voltages, and beside
// that nothing of it is so.
func (v *view) ownChance(all []*view, measured []Measured) float64 {
	agree, sum := 0., math.Exp(somethingElse+float64(len(measured))*math.Log(1./8)-v.log)
	for _, w := range all {
		if !w.v.covers(v.v.group) {
			continue
		}
		weight := math.Exp(w.log - v.log)
		if sum += weight; w.agree(v) {
			agree += weight
		}
	}
	return agree / sum
}

// surely is how probable the least sure one of voltages, currents and powers is.
func (st *standings) surely(e *explanation) float64 {
	least := 1.
	for c, g := range map[int]*group{volts: e.v.group, amps: e.i, powers: e.p} {
		if g.size() == 1 {
			least = math.Min(least, st[c].probability)
		}
	}
	return least
}
