package learn

import (
	"math"
	"slices"

	"legwork/probe/reading"
	"legwork/probe/regmap"
)

// frequency finds what stays near 50 or 60 Hz and moves by hundredths.
func (l *library) frequency(v *view, st standing, measured []Measured) []Point {
	var best []Point
	for f := range l.shelves {
		if f.float() != v.i.float() || f.float() && f != v.i.form || f.signed() && f.size() == 1 {
			continue
		}
		if f.typ == regmap.S32 && f.order != st.order {
			continue
		}
		tens := []int{-3, -2, -1}
		if f.float() {
			tens = []int{0}
		}
		for _, s := range l.listed[f] {
			if s.typ == regmap.S32 && s.same || v.has(s) || s.block.Table != v.v.table {
				continue
			}
			for _, ten := range tens {
				if p, ok := mainsFrequency(s, ten, st, measured); ok {
					best = append(best, p)
				}
			}
		}
	}
	for i := range best {
		best[i].Probability = 0.95 / float64(len(best))
	}
	if len(best) > 1 {
		return nil // which of them can't be said
	}
	return best
}

func mainsFrequency(s *series, ten int, st standing, measured []Measured) (Point, bool) {
	scale := math.Pow10(ten)
	about := math.Round(s.x[0]*scale/10) * 10
	if about != 50 && about != 60 || (s.high-s.low)*scale > 0.3 || !s.moves() && ten != -1 {
		return Point{}, false
	}
	off := 0.
	for _, x := range s.x {
		off = math.Max(off, math.Abs(x*scale-about))
	}
	if off > 0.3 {
		return Point{}, false
	}
	for _, m := range measured {
		if m.Point.Quantity == reading.Frequency && math.Abs(m.Value-about) > 1 {
			return Point{}, false
		}
	}
	p := Point{Point: st.point(part{alone(s), false}, s, ten), Reads: s.x[len(s.x)-1] * scale}
	p.Point.Point = reading.Point{Quantity: reading.Frequency}
	p.Ties = []Tie{{NearMain, nil, off / about, about}}
	return p, true
}

// has reports that a series shares registers with what a view has found.
func (v *view) has(s *series) bool {
	for _, p := range v.parts() {
		if p.table == s.block.Table && inside(s, p.group) {
			return true
		}
	}
	return false
}

// lineVoltages finds the voltages between three channels of a wye.
func (l *library) lineVoltages(v *view, st standing, sure float64) []Point {
	if len(v.v.of) != 3 {
		return nil
	}
	var found []*group
	for _, p := range l.places(v.v.form) {
		g := l.gather(v.v.form, p, v.v.stride, 3)
		if g != nil && g.table == v.v.table && nearby(v.v.group, p.at) && !v.has(g.of[0]) && v.isLine(g) < 0.01 {
			found = append(found, g)
		}
	}
	if len(found) != 1 {
		return nil
	}
	var out []Point
	for k, s := range found[0].of {
		pair := [...]int{12, 23, 31}[k]
		p := Point{Point: st.point(part{found[0], false}, s, v.v.ten), Probability: 0.97 * sure * st.probability}
		p.Point.Point = reading.Point{Quantity: reading.LineVoltage, Index: pair}
		p.Reads = s.x[len(s.x)-1] * math.Pow10(v.v.ten)
		p.Ties = []Tie{{RootFrom, []reading.Point{p.Point.Point, pointOf(reading.Voltage, k), pointOf(reading.Voltage, (k+1)%3)},
			v.isLine(found[0]), 0}}
		out = append(out, p)
	}
	return out
}

// isLine is how far a group is off the voltages between the channels, taken at
// 120 degrees (law of cosines).
func (v *view) isLine(g *group) float64 {
	off := 0.
	for k, s := range g.of {
		a, b := v.v.of[k].x[0], v.v.of[(k+1)%3].x[0]
		off = math.Max(off, math.Abs(s.x[0]/math.Sqrt(a*a+b*b+a*b)-1))
	}
	return off
}

// energies finds the counters that the display shows: what reads the same to one
// part in 2000, but for the power of ten, and never runs back.
func (l *library) energies(v *view, st standing, measured []Measured) []Point {
	var out []Point
	for _, m := range measured {
		if m.Point.Quantity != reading.EnergyImport && m.Point.Quantity != reading.TotalEnergyImport || m.Value == 0 {
			continue
		}
		var found []Point
		for _, f := range forms() {
			if f.size() != 2 || !f.float() && st.long && !v.i.float() && f.order != st.order {
				continue
			}
			for _, s := range l.listed[f] {
				if s.same || v.has(s) || !slices.IsSorted(s.x) || s.low <= 0 {
					continue
				}
				ten := math.Round(math.Log10(m.Value / s.low))
				if off := s.low*math.Pow10(int(ten))/m.Value - 1; math.Abs(off) < 0.0005 && ten >= -3 && ten <= 6 {
					one := Point{Point: st.point(part{alone(s), false}, s, int(ten)), Probability: 0.97}
					one.Point.Point, one.Reads = m.Point, s.high*math.Pow10(int(ten))
					one.Ties = shownTies([]Measured{m}, one)
					found = append(found, one)
				}
			}
		}
		if len(found) == 1 {
			out = append(out, found[0])
		}
	}
	return out
}
