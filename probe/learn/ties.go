package learn

import (
	"math"

	"legwork/probe/reading"
)

// ties finds what holds the points of a view.
type ties struct{ *view }

func pointOf(q reading.Quantity, k int) reading.Point {
	return reading.Point{Quantity: q, Index: k + 1}
}

// pointsOf are those of channel k, from 0.
func pointsOf(k int, quantities ...reading.Quantity) []reading.Point {
	var all []reading.Point
	for _, q := range quantities {
		all = append(all, pointOf(q, k))
	}
	return all
}

func (t *ties) ofVoltage(k int) []Tie {
	var points []reading.Point
	sum, low, high := 0., math.Inf(1), 0.
	for j, s := range t.v.of {
		points = append(points, pointOf(reading.Voltage, j))
		x := s.x[len(s.x)-1] * math.Pow10(t.v.ten)
		sum, low, high = sum+x, math.Min(low, x), math.Max(high, x)
	}
	mean := sum / float64(len(points))
	out := []Tie{{Alike, points, (high - low) / mean, mean}}
	return append(out, t.product(k)...)
}

func (t *ties) ofCurrent(k int) []Tie { return append(t.product(k), t.follows(k)...) }

func (t *ties) ofPower(k int) []Tie {
	out := append(t.follows(k), t.factor(k)...)
	out = append(out, t.squares(k)...)
	if t.pt != nil {
		out = append(out, t.sum(reading.Power, reading.TotalPower, t.p, t.pt)(k)...)
	}
	return out
}

func (t *ties) follows(k int) []Tie {
	share := t.share[k]
	if share == nil {
		return nil
	}
	off := 0.
	for _, x := range share {
		off = math.Max(off, math.Abs(x-t.mid[k]))
	}
	return []Tie{{Follows, pointsOf(k, reading.Power, reading.Voltage, reading.Current), off, 0}}
}

func (t *ties) product(k int) []Tie {
	if t.s == nil || t.share[k] == nil {
		return nil
	}
	off := 0.
	for r, s := range t.s.of[k].x {
		va := t.v.of[k].x[r] * t.i.of[k].x[r] * math.Pow10(t.explanation.ten)
		off = math.Max(off, math.Abs(s/va-1))
	}
	return []Tie{{Product, pointsOf(k, reading.Voltage, reading.Current, reading.Apparent), off, 0}}
}

func (t *ties) squares(k int) []Tie {
	if t.q == nil || t.share[k] == nil {
		return nil
	}
	last := len(t.share[k]) - 1
	va := t.v.of[k].x[last] * t.i.of[k].x[last] * math.Pow10(t.explanation.ten)
	c, s := t.share[k][last], t.q.of[k].x[last]/va
	all := pointsOf(k, reading.Power, reading.Reactive, reading.Voltage, reading.Current)
	return []Tie{{Squares, all, math.Abs(c*c + s*s - 1), 0}}
}

func (t *ties) factor(k int) []Tie {
	if t.pf == nil || t.share[k] == nil {
		return nil
	}
	last := len(t.share[k]) - 1
	off := math.Abs(math.Abs(t.pf.of[k].x[last])*math.Pow10(t.pfTen) - math.Abs(t.share[k][last]))
	return []Tie{{Factor, pointsOf(k, reading.PowerFactor, reading.Power, reading.Voltage, reading.Current), off, 0}}
}

func (t *ties) sum(q, total reading.Quantity, g *group, s *series) func(int) []Tie {
	return func(int) []Tie {
		var points []reading.Point
		last := len(s.x) - 1
		sum := 0.
		for k, one := range g.of {
			points = append(points, pointOf(q, k))
			sum += one.x[last]
		}
		points = append(points, reading.Point{Quantity: total})
		return []Tie{{Sum, points, math.Abs(s.x[last]/sum - 1), 0}}
	}
}
