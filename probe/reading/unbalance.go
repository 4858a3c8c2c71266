package reading

import "math"

// LineUnbalance gives two measures of how unlike three line-to-line voltages
// are, as shares: NEMA's, the largest deviation from the average over the
// average (NEMA MG 1), and the negative over the positive sequence, from the
// sizes alone (the formula of IEC 61000-4-30, from memory; it is an identity).
// ok is false where a voltage isn't known, is zero, or the three can't close.
func LineUnbalance(line [3]Value) (nema, negative float64, ok bool) {
	var v [3]float64
	var sum, squares, fourths float64
	for i := range line {
		x, known := line[i].Get()
		if !known || x <= 0 {
			return 0, 0, false
		}
		v[i] = x
		sum += x
		squares += x * x
		fourths += x * x * x * x
	}
	average := sum / 3
	for _, x := range v {
		nema = math.Max(nema, math.Abs(x-average)/average)
	}
	inside := 3 - 6*fourths/(squares*squares)
	if inside < 0 {
		return 0, 0, false // no triangle has such sides
	}
	root := math.Sqrt(inside)
	return nema, math.Sqrt((1 - root) / (1 + root)), true
}
