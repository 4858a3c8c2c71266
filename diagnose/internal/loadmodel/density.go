package loadmodel

import (
	"math"

	"legwork/diagnose/wiring"
)

// The density of the legs' load angles, as a table over cells of cellDegrees.
// It is derived once for each kind of service from the panel model, smoothed,
// and mixed with a floor of panels unlike the usual ones.

const (
	CellDegrees = 5
	Cells       = 360 / CellDegrees
)

// Cell is the index of the cell that an angle in degrees falls into.
func Cell(degrees float64) int {
	i := int(math.Floor(degrees/CellDegrees+0.5)) % Cells
	if i < 0 {
		i += Cells
	}
	return i
}

// Density holds probabilities per cell for every set of legs of one kind of
// service, legs in canonical order. pair[0] is of legs 0 and 1, pair[1] of
// 1 and 2, pair[2] of 2 and 0. Legs whose currents are much alike tend to carry
// three-phase loads, and unlike ones don't, so there is a density for each
// class of unlikeness; which class it is doesn't depend on the arrangement.
type Density struct {
	legs     int
	triple   []float32
	pair     [3][]float32
	single   [3][]float32
	Three    []float32 // of one three-phase load's own angle
	Kinds    []float32 // of any other single load's own angle
	size     *[sizeBins]float64
	sizeRoot *[sizeBins]float64
	third    [3]*third // of three legs: each beside the others
	heat     *heatPanel
}

// How many panels are drawn for a table.
const (
	panelsDrawn  = 40_000
	leadingDrawn = 10_000
)

// Classes of unlikeness: the largest current over the smallest.
const Classes = 4

func ClassOf(ratio float64) int {
	for i, most := range [Classes - 1]float64{1.12, 1.5, 3} {
		if ratio < most {
			return i
		}
	}
	return Classes - 1
}

// ShapeOf is the service in canonical order.
func ShapeOf(s wiring.Service) Shape {
	shape := Shape{legs: s.Legs()}
	e, order := s.LegPhasors(wiring.Forward), s.Canonical(wiring.Forward)
	for axis := range shape.legs {
		shape.e[axis] = e[order[axis]-1]
		shape.neutral[axis] = s.Kind != wiring.Delta && !(s.Kind == wiring.HighLegDelta && axis == 1)
	}
	return shape
}

// Derive makes the densities of one sort of panel on a service, one for each class of
// currents, all from the same panels. Of a leading panel, whose angles don't depend on
// its currents, the classes are one.
func Derive(shape Shape, sort Sort) (all [Classes]*Density) {
	t := &tables{shape: shape, sort: sort, smoother: newSmoother()}
	t.turns = shape.symmetries()
	for class := range all {
		if class > 0 && sort.Panel == OneSided {
			all[class] = all[0]
			continue
		}
		all[class] = newDensity(shape.legs)
	}
	t.all = all
	t.draw()
	t.finish()
	return all
}

func newDensity(legs int) *Density {
	d := &Density{legs: legs}
	for m := range legs {
		if legs == 1 {
			break
		}
		d.pair[m] = make([]float32, Cells*Cells)
	}
	if legs == 3 {
		d.triple = make([]float32, Cells*Cells*Cells)
	}
	return d
}

// symmetries is how many cyclic exchanges of legs leave the service as it is.
func (s Shape) symmetries() int {
	if s.legs == 3 && (s.neutral == [3]bool{true, true, true} || s.neutral == [3]bool{}) {
		return 3
	}
	return 1
}

// At is the probability of the cells of some legs, given by canonical axis;
// an axis below zero is a leg without a reading.
func (d *Density) At(c [3]int) float64 {
	if d.legs == 3 && c[0] >= 0 && c[1] >= 0 && c[2] >= 0 {
		return float64(d.triple[(c[0]*Cells+c[1])*Cells+c[2]])
	}
	for m := range d.legs {
		next := (m + 1) % d.legs
		if d.legs > 1 && c[m] >= 0 && c[next] >= 0 {
			return float64(d.pair[m][c[m]*Cells+c[next]])
		}
	}
	for m := range d.legs {
		if c[m] >= 0 {
			return float64(d.single[m][c[m]])
		}
	}
	return 1
}
