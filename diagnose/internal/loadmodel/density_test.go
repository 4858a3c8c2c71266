package loadmodel

import (
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose/wiring"
)

// Every density sums to one: of every service, class and set of measured legs,
// with and without power that flows back.
func TestEveryDensitySumsToOne(t *testing.T) {
	for _, name := range []string{"120/208Y", "120/240", "120/208N", "120", "480D", "120/240D"} {
		s, err := wiring.ParseService(name)
		require.NoError(t, err)
		shape := ShapeOf(s)
		for class := range Classes {
			d := DeriveDensity(shape, class)
			for measured := 1; measured < 1<<shape.legs; measured++ {
				load, either := sums(d, measured)
				require.InDelta(t, 1, load, 1e-3, "%s, class %d, legs %03b", name, class, measured)
				require.InDelta(t, 1, either, 1e-3, "%s, class %d, legs %03b, power may flow back", name, class, measured)
			}
		}
	}
}

// sums adds a density up over the cells of the measured legs.
func sums(d *Density, measured int) (load, either float64) {
	var add func(axis int, c [3]int)
	add = func(axis int, c [3]int) {
		switch {
		case axis == 3:
			load += d.At(c)
			either += d.AtExporting(c)
		case measured>>axis&1 == 0:
			add(axis+1, c)
		default:
			for i := range Cells {
				c[axis] = i
				add(axis+1, c)
			}
		}
	}
	add(0, [3]int{-1, -1, -1})
	return load, either
}
