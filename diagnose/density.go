package diagnose

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
	cellDegrees = 5
	cells       = 360 / cellDegrees
)

// cell is the index of the cell that an angle in degrees falls into.
func cell(degrees float64) int {
	i := int(math.Floor(degrees/cellDegrees+0.5)) % cells
	if i < 0 {
		i += cells
	}
	return i
}

// density holds probabilities per cell for every set of legs of one kind of
// service, legs in canonical order. pair[0] is of legs 0 and 1, pair[1] of
// 1 and 2, pair[2] of 2 and 0. Legs whose currents are much alike tend to carry
// three-phase loads, and unlike ones don't, so there is a density for each
// class of unlikeness; which class it is doesn't depend on the arrangement.
type density struct {
	legs   int
	class  int
	triple []float32
	pair   [3][]float32
	single [3][]float32
	three  []float32 // of one three-phase load's own angle
	kinds  []float32 // of any other single load's own angle
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

// classes of unlikeness: the largest current over the smallest.
const classes = 4

func classOf(ratio float64) int {
	for i, most := range [classes - 1]float64{1.12, 1.5, 3} {
		if ratio < most {
			return i
		}
	}
	return classes - 1
}

// shapeOf is the service in canonical order.
func shapeOf(s wiring.Service) panelShape {
	shape := panelShape{legs: s.Legs()}
	e, order := s.LegPhasors(wiring.Forward), s.Canonical(wiring.Forward)
	for axis := range shape.legs {
		shape.e[axis] = e[order[axis]-1]
		shape.neutral[axis] = s.Kind != wiring.Delta && !(s.Kind == wiring.HighLegDelta && axis == 1)
	}
	return shape
}

func deriveDensity(shape panelShape, class int) *density {
	d := newDensity(shape.legs)
	d.class = class
	drawer := &panelDrawer{shape: shape, rng: rand.New(rand.NewPCG(1893, 1904))}
	turns := d.symmetries(shape)
	for range panelsDrawn {
		phi, size := drawer.draw()
		for turn := range turns {
			d.drop(phi, size, turn)
		}
	}
	d.finish()
	return d
}

func newDensity(legs int) *density {
	d := &density{legs: legs}
	for m := range legs {
		d.single[m] = make([]float32, cells)
		d.pair[m] = make([]float32, cells*cells)
	}
	if legs == 3 {
		d.triple = make([]float32, cells*cells*cells)
	}
	return d
}

// symmetries is how many cyclic exchanges of legs leave the service as it is.
func (d *density) symmetries(shape panelShape) int {
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
func (d *density) drop(phi, size [3]float64, turn int) {
	var c [3]int
	var loaded [3]bool
	least := math.Max(size[0], math.Max(size[1], size[2])) / 30
	for m := range d.legs {
		from := (m + turn) % d.legs
		c[m], loaded[m] = cell(phi[from]), size[from] > least
	}
	for m := range d.legs {
		next := (m + 1) % d.legs
		if loaded[m] {
			d.single[m][c[m]]++
		}
		if d.legs > 1 && loaded[m] && loaded[next] && d.holds(size[(m+turn)%d.legs], size[(next+turn)%d.legs]) {
			d.pair[m][c[m]*cells+c[next]]++
		}
	}
	if d.legs == 3 && loaded == [3]bool{true, true, true} && d.holds(size[:]...) {
		d.triple[(c[0]*cells+c[1])*cells+c[2]]++
	}
}

// holds reports whether currents are of the density's class.
func (d *density) holds(size ...float64) bool {
	return classOf(slices.Max(size)/slices.Min(size)) == d.class
}

func (d *density) finish() {
	kernel := mixedKernel()
	alike := alikeFloor(d.legs)
	finish := func(t []float32, axes int) {
		smooth(t, axes, kernel)
		normalise(t)
		addFloor(t, axes, alike[axes])
	}
	d.three, d.kinds = make([]float32, cells), make([]float32, cells)
	for _, k := range loadKinds {
		for x := k.low; x <= k.top; x++ {
			d.three[cell(x)] += float32(k.three / (k.top - k.low + 1))
			d.kinds[cell(x)] += float32(k.share / (k.top - k.low + 1))
		}
	}
	finish(d.three, 1)
	finish(d.kinds, 1)
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

// at is the probability of the cells of some legs, given by canonical axis;
// an axis below zero is a leg without a reading.
func (d *density) at(c [3]int) float64 {
	if d.legs == 3 && c[0] >= 0 && c[1] >= 0 && c[2] >= 0 {
		return float64(d.triple[(c[0]*cells+c[1])*cells+c[2]])
	}
	for m := range d.legs {
		next := (m + 1) % d.legs
		if d.legs > 1 && c[m] >= 0 && c[next] >= 0 {
			return float64(d.pair[m][c[m]*cells+c[next]])
		}
	}
	for m := range d.legs {
		if c[m] >= 0 {
			return float64(d.single[m][c[m]])
		}
	}
	return 1
}
