package loadmodel

import (
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose/wiring"
)

// Every density sums to one: of every service, sort of panel and set of measured legs.
func TestEveryDensitySumsToOne(t *testing.T) {
	if testing.Short() {
		t.Skip("long, and of one goroutine")
	}
	for _, name := range []string{"120/208Y", "120/240", "120/208N", "120", "480D", "120/240D"} {
		s, err := wiring.ParseService(name)
		require.NoError(t, err)
		shape := ShapeOf(s)
		for i, sort := range []Sort{{}, {Declared: Heating}, {Panel: OneSided}, {Declared: Motors | Capacitors}} {
			class := i % Classes
			d := Derive(shape, sort)[class]
			for measured := 1; measured < 1<<shape.legs; measured++ {
				require.InDelta(t, 1, sumOf(d, measured), 1e-3, "%s, %v, class %d, legs %03b", name, sort, class, measured)
			}
			var sizes float64
			for _, p := range d.size {
				sizes += p * sizeWidth
			}
			if shape.legs > 1 {
				require.InDelta(t, 1, sizes, 1e-9)
			}
		}
	}
}

// sumOf adds a density up over the cells of the measured legs.
func sumOf(d *Density, measured int) (p float64) {
	var add func(axis int, c [3]int)
	add = func(axis int, c [3]int) {
		switch {
		case axis == 3:
			p += d.At(c)
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
	return p
}
