package loadmodel

import (
	"math"
	"math/rand/v2"
	"slices"

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
	legs   int
	class  int
	triple []float32
	pair   [3][]float32
	single [3][]float32
	Three  []float32 // of one three-phase load's own angle
	Kinds  []float32 // of any other single load's own angle
	size   [sizeBins]float64
}

// How the table is made. The shares of the floor are those with which no
// rightly wired, over-compensated panel was called faulty in a study of ours.
const (
	panelsDrawn     = 40_000
	floorShare      = 0.04
	floorAlike      = 0.45 // legs alike within about 10 degrees, anywhere within 90
	floorApart      = 0.45 // each leg by itself, anywhere within 96
	narrowSmoothing = 3.0  // degrees; covers CT and meter angle errors too
	wideSmoothing   = 13.0 // degrees; keeps the tails of the table smooth
	wideShare       = 0.12
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
// currents: the same panels are drawn for all.
func Derive(shape Shape, sort Sort) (all [Classes]*Density) {
	for class := range all {
		all[class] = newDensity(shape.legs)
		all[class].class = class
	}
	drawer := &drawer{shape: shape, sort: sort, rng: rand.New(rand.NewPCG(1893, 1904))}
	drawer.share, drawer.ofAll = sort.shares()
	turns := all[0].symmetries(shape)
	for range panelsDrawn {
		phi, size := drawer.draw()
		for _, d := range all {
			for turn := range turns {
				d.drop(phi, size, turn)
			}
		}
		all[0].weighSizes(size)
	}
	alike := alikeFloor(shape.legs)
	for _, d := range all {
		d.size = all[0].size
		d.finish(sort, alike)
	}
	return all
}

func newDensity(legs int) *Density {
	d := &Density{legs: legs}
	for m := range legs {
		d.single[m] = make([]float32, Cells)
		d.pair[m] = make([]float32, Cells*Cells)
	}
	if legs == 3 {
		d.triple = make([]float32, Cells*Cells*Cells)
	}
	return d
}

// symmetries is how many cyclic exchanges of legs leave the service as it is.
func (d *Density) symmetries(shape Shape) int {
	if d.legs == 3 && shape.neutral == [3]bool{true, true, true} {
		return 3
	}
	if d.legs == 3 && shape.neutral == [3]bool{} {
		return 3
	}
	return 1
}

// drop counts one panel, its legs exchanged cyclically by turn. Legs that
// carry less than a thirtieth of the largest count in no table.
func (d *Density) drop(phi, size [3]float64, turn int) {
	var c [3]int
	var loaded [3]bool
	least := math.Max(size[0], math.Max(size[1], size[2])) / 30
	for m := range d.legs {
		from := (m + turn) % d.legs
		c[m], loaded[m] = Cell(phi[from]), size[from] > least
	}
	for m := range d.legs {
		next := (m + 1) % d.legs
		if loaded[m] {
			d.single[m][c[m]]++
		}
		if d.legs > 1 && loaded[m] && loaded[next] && d.holds(size[(m+turn)%d.legs], size[(next+turn)%d.legs]) {
			d.pair[m][c[m]*Cells+c[next]]++
		}
	}
	if d.legs == 3 && loaded == [3]bool{true, true, true} && d.holds(size[:]...) {
		d.triple[(c[0]*Cells+c[1])*Cells+c[2]]++
	}
}

// holds reports whether currents are of the density's class.
func (d *Density) holds(size ...float64) bool {
	return ClassOf(slices.Max(size)/slices.Min(size)) == d.class
}

func (d *Density) finish(sort Sort, alike [4][]float32) {
	kernel := mixedKernel()
	finish := func(t []float32, axes int) {
		smooth(t, axes, kernel)
		normalise(t)
		addFloor(t, axes, alike[axes])
	}
	d.Three, d.Kinds = make([]float32, Cells), make([]float32, Cells)
	shares, three := sort.shares()
	for i, k := range loadKinds {
		for x := k.low; x <= k.top; x++ {
			d.Three[Cell(x)] += float32(three[i] / (k.top - k.low + 1))
			d.Kinds[Cell(x)] += float32(shares[i] / (k.top - k.low + 1))
		}
	}
	d.finishSizes()
	finish(d.Three, 1)
	finish(d.Kinds, 1)
	for m := range d.legs {
		finish(d.single[m], 1)
		if d.legs > 1 {
			finish(d.pair[m], 2)
		}
	}
	if d.legs == 3 {
		finish(d.triple, 3)
	}
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
