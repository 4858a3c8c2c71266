package learn

import (
	"cmp"
	"math"
	"slices"
)

// A long value beside one whose high half is the same reads alike in both orders, at
// this address in one and at the next in the other. The registers round them tell.

// turned reports a view that differs from another by nothing but that.
func (v *view) turned(w *view) bool {
	if v.ampere != w.ampere || v.watt() != w.watt() || v.v.ten != w.v.ten || len(v.v.of) != len(w.v.of) {
		return false
	}
	some := false
	for _, pair := range [][2]*group{{v.v.group, w.v.group}, {v.i, w.i}, {v.p, w.p}} {
		switch a, b := pair[0], pair[1]; {
		case a.turned(b) && sameValues(a, b, 0, 0, func(int) float64 { return 0 }, true):
			some = true
		case !a.covers(b):
			return false
		}
	}
	return some
}

// mostTurned is how many views are told apart.
const mostTurned = 12

// settleTurned weighs views that turn the likeliest by the rows of cells that they
// leave, and puts the likeliest first.
func (l *library) settleTurned(all []*view) {
	alike := []*view{all[0]}
	for _, v := range all[1:] {
		if len(alike) < mostTurned && v.weight > 1e-4*all[0].weight && v.turned(all[0]) {
			alike = append(alike, v)
		}
	}
	if len(alike) == 1 {
		return
	}
	logs, most := make([]float64, len(alike)), math.Inf(-1)
	for i, v := range alike {
		logs[i] = l.logRows(v.explanation) + math.Log(v.weight)
		most = math.Max(most, logs[i])
	}
	if math.IsInf(most, -1) {
		return
	}
	before, after := 0., 0.
	for i, v := range alike {
		before += v.weight
		v.weight = math.Exp(logs[i] - most)
		after += v.weight
	}
	for _, v := range alike {
		v.weight *= before / after
	}
	slices.SortStableFunc(all, func(a, b *view) int { return cmp.Compare(b.weight, a.weight) })
}

// logRows is the logarithm of how likely the registers are beside an explanation.
func (l *library) logRows(e *explanation) float64 {
	ways := l.ways(e.byClass(), classes, e.orderPair())
	sum := math.Inf(-1)
	for _, w := range ways {
		sum = logSum(sum, w.log)
	}
	return sum
}
