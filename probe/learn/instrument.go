package learn

import (
	"math"
	"slices"

	"legwork/probe/reading"
)

// What an instrument showed, held against groups, explanations and points.

// shows reports a group that goes with what was measured of its quantity, but
// for the power of ten, on most channels.
func (l *library) shows(g *group, q reading.Quantity) bool {
	good, bad := 0, 0
	for _, m := range l.measured {
		if m.Point.Quantity != q || m.Point.Index < 1 || m.Point.Index > len(g.of) || m.Value == 0 {
			continue
		}
		one := g.of[m.Point.Index-1]
		if one.zero() {
			continue
		}
		if slices.ContainsFunc(one.x, func(x float64) bool {
			ten := math.Log10(math.Abs(x) / m.Value)
			return math.Abs(ten-math.Round(ten)) < 0.15
		}) {
			good++
		} else {
			bad++
		}
	}
	return good >= bad || bad == 1
}

// measuredTen is the power of ten of an explanation that what was measured of a
// channel asks for; a large number where nothing was.
func (l *library) measuredTen(e *explanation) int {
	get := func(q reading.Quantity, k int) float64 {
		x, _ := l.measuredOf(reading.Point{Quantity: q, Index: k + 1})
		return x
	}
	for k, s := range e.p.of {
		v, i, p := get(reading.Voltage, k), get(reading.Current, k), get(reading.Power, k)
		raw := s.mid / e.v.of[k].mid / e.i.of[k].mid
		if v*i*p == 0 || p < 0.02*v*i || raw == 0 || math.IsInf(raw, 0) || math.IsNaN(raw) {
			continue
		}
		return int(math.Round(math.Log10(math.Abs(raw) * v * i / p)))
	}
	return math.MaxInt
}

// measuredTo is the last channel that was measured, where all its quantities were.
func measuredTo(measured []Measured) int {
	most := 0
	for _, m := range measured {
		most = max(most, m.Point.Channel())
	}
	if len(measured) < 3*most {
		return 0
	}
	return most
}

// isThere reports that what was measured shows that its channel is there: something
// is, or the instrument went through all quantities.
func (m Measured) isThere(measured []Measured) bool {
	return m.Point.Channel() > 0 && (m.Value > 0 || m.Point.Channel() <= measuredTo(measured))
}

// logShown weighs what was measured, in the middle of the rounds or after them.
func (v *view) logShown(measured []Measured) float64 {
	if len(measured) == 0 {
		return 0
	}
	return math.Max(v.logShownAt(measured, func(s *series) float64 { return s.mid }),
		v.logShownAt(measured, func(s *series) float64 { return s.x[len(s.x)-1] }))
}

func (v *view) logShownAt(measured []Measured, of func(*series) float64) float64 {
	w := 0.
	for _, m := range measured {
		if x, ok := v.when(m.Point, of); ok {
			w += m.logFit(x, v.apparent(m.Point.Index))
		} else if m.isThere(measured) && m.Point.Quantity <= reading.Power {
			w -= 6 // a channel that isn't there was measured
		}
	}
	return w
}

// bestShown is the same for the power of ten that suits best.
func (e *explanation) bestShown(measured []Measured) float64 {
	if len(measured) == 0 {
		return 0
	}
	most := math.Inf(-1)
	for ampere := -4; ampere <= 1; ampere++ {
		if e.i.float() && ampere != 0 || !e.suits(ampere, measured) {
			continue
		}
		v := view{explanation: e, ampere: ampere}
		most = math.Max(most, v.logShown(measured))
	}
	if math.IsInf(most, -1) {
		v := view{explanation: e}
		return v.logShown(measured)
	}
	return most
}

// suits reports a power of ten by which some current or power comes near to what was
// measured, or of which nothing was measured.
func (e *explanation) suits(ampere int, measured []Measured) bool {
	v := view{explanation: e, ampere: ampere}
	none := true
	for _, m := range measured {
		x, ok := v.at(m.Point)
		if x = math.Abs(x); !ok || m.Point.Quantity == reading.Voltage || x == 0 || m.Value == 0 {
			continue
		}
		if none = false; x < 4*m.Value && m.Value < 4*x {
			return true
		}
	}
	return none
}

// shownTies ties a point to what an instrument shows of it.
func shownTies(all []Measured, p Point) []Tie {
	var out []Tie
	for _, m := range all {
		if m.Point == p.Point.Point && m.Value != 0 {
			off := math.Abs(math.Abs(p.Reads)/m.Value - 1)
			out = append(out, Tie{Shown, []reading.Point{m.Point}, off, m.Value})
		}
	}
	return out
}
