package learn

import (
	"math"
	"slices"

	"legwork/probe/reading"
)

// clampedStrides lists how far apart two channels can stand by what a clamp shows of
// their currents, where a voltmeter shows that one of their inputs is dead: a voltage of
// nought could stand anywhere. None nearer than those that are tried without.
func (l *library) clampedStrides(f form) []int {
	shown := func(q reading.Quantity, index int) (float64, bool) {
		return l.measuredOf(reading.Point{Quantity: q, Index: index})
	}
	v1, ok1 := shown(reading.Voltage, 1)
	v2, ok2 := shown(reading.Voltage, 2)
	i1, _ := shown(reading.Current, 1)
	i2, _ := shown(reading.Current, 2)
	if !ok1 || !ok2 || v1 != 0 && v2 != 0 || i1 == 0 || i2 == 0 {
		return nil
	}
	const near = 0.1 // the load changes meanwhile
	var strides []int
	places := l.places(f)
	for x, p := range places {
		one := l.shelves[f].at(p)
		ten := math.Log10(one.mid / i1)
		if one.mid <= 0 || math.Abs(ten-math.Round(ten)) > near/2 || f.float() && math.Round(ten) != 0 {
			continue
		}
		for _, q := range places[x+1:] {
			apart := q.at - p.at
			if q.table != p.table || apart > widestStride {
				break
			}
			is, should := l.shelves[f].at(q).mid/one.mid, i2/i1
			if apart > 4*f.size() && math.Abs(is/should-1) < near && !slices.Contains(strides, apart) {
				strides = append(strides, apart)
			}
		}
	}
	return strides
}
