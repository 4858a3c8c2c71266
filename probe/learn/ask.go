package learn

import (
	"cmp"
	"math"
	"slices"

	"legwork/probe/reading"
)

// ask finds the measurement after which most would be settled: of every value
// that it could show, the likeliest explanation remains.
func (l *library) ask(all []*view) *Ask {
	classes := meanings(all)
	if len(classes) == 0 {
		return nil
	}
	var best *Ask
	most := classes[0].weight + 0.02
	for _, p := range reading.Points() {
		switch p.Quantity {
		case reading.Voltage, reading.Current, reading.Power, reading.TotalPower:
		default:
			continue
		}
		if l.isTold(p) {
			continue // the same again would say nothing new
		}
		if remains, or := tellApart(classes, p); remains > most+1e-3 {
			most, best = remains, &Ask{p, or}
		}
	}
	return best
}

// rival is where the likeliest explanation that means something else has voltages,
// currents and powers.
func (l *library) rival(all []*view) []Point {
	classes := meanings(all)
	if len(classes) < 2 || classes[1].weight < leastRival {
		return nil
	}
	v := classes[1]
	return slices.DeleteFunc(l.found(v, l.stand(v.explanation), chancesOf(v, all), nil), func(p Point) bool {
		return p.Quantity > reading.Power
	})
}

// leastRival is from which probability on one is worth to be named. Our choice.
const leastRival = 0.02

// confirm asks for the first of the points that aren't settled of which nothing was
// measured: where all explanations expect the same, that it is so says that they are right.
func (l *library) confirm(open []Point) *Ask {
	for _, q := range []reading.Quantity{reading.Current, reading.Power, reading.Voltage} {
		for _, p := range open {
			if p.Quantity == q && !l.isTold(p.Point.Point) {
				return &Ask{p.Point.Point, []float64{math.Abs(p.Reads)}}
			}
		}
	}
	return nil
}

// meanings joins views that mean the same.
func meanings(all []*view) []*view {
	var classes []*view
	for _, v := range all {
		if v.weight < 1e-4 || len(classes) > 40 {
			break
		}
		i := slices.IndexFunc(classes, v.agree)
		if i >= 0 {
			classes[i].weight += v.weight
			continue
		}
		one := *v
		classes = append(classes, &one)
	}
	return classes
}

// putLikeliestFirst puts the first view of the likeliest meaning first: one that can be
// read in several ways has its weight in parts.
func putLikeliestFirst(all []*view) {
	classes := meanings(all)
	if len(classes) == 0 {
		return
	}
	top := slices.MaxFunc(classes, func(a, b *view) int { return cmp.Compare(a.weight, b.weight) })
	i := slices.IndexFunc(all, func(v *view) bool { return v.explanation == top.explanation && v.ampere == top.ampere })
	first := all[i]
	copy(all[1:], all[:i])
	all[0] = first
}

// tellApart is what would remain after a measurement, on average, and what it
// is expected to show.
func tellApart(classes []*view, p reading.Point) (remains float64, or []float64) {
	type bin struct{ value, weight float64 }
	var bins []bin
	for _, v := range classes {
		x, ok := v.at(p)
		x = math.Abs(x)
		if !ok || x == 0 {
			x = 1e-9
		}
		i := slices.IndexFunc(bins, func(b bin) bool { return math.Abs(math.Log(b.value/x)) < 0.12 })
		if i < 0 {
			bins = append(bins, bin{x, v.weight}) // classes come by weight
			if x > 1e-9 && len(or) < 3 && v.weight > 0.02 {
				or = append(or, x)
			}
		}
	}
	for _, b := range bins {
		remains += b.weight
	}
	return remains, or
}
