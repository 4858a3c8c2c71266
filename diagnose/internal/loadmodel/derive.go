package loadmodel

import (
	"math/rand/v2"
)

// tables are the densities of a sort of panel while they are made.
type tables struct {
	shape Shape
	sort  Sort
	turns int // cyclic exchanges of legs that leave the service as it is
	*smoother
	all    [Classes]*Density
	single [3][]float32
	size   [sizeBins]float64
	third  [3]*third
}

// draw counts the panels.
func (t *tables) draw() {
	for m := range t.shape.legs {
		t.single[m] = make([]float32, Cells)
		if t.third[m] = t.third[0]; m < 1 || t.turns == 1 {
			t.third[m] = new(third)
		}
	}
	d := newDrawer(t.shape, t.sort, rand.New(rand.NewPCG(1893, 1904)))
	n := panelsDrawn
	if t.sort.Panel == OneSided {
		n = leadingDrawn
	}
	for range n {
		phi, size := d.draw()
		t.drop(phi, size)
		t.weighSizes(size)
		if t.besides() && min(size[0], size[1], size[2]) > 0 {
			k := legPhasors(phi, size, d.rng)
			for m := range k {
				t.third[m].drop(k[m], k[(m+1)%3], k[(m+2)%3])
			}
		}
	}
}

// besides reports a sort of panel on three legs, each of which goes by the others in
// size and angle at once.
func (t *tables) besides() bool { return t.shape.legs == 3 && t.sort.Panel != OneSided }

// drop counts the load angles of one panel. Legs that carry less than a thirtieth of the
// largest count in no table.
func (t *tables) drop(phi, size [3]float64) {
	var c [3]int
	var loaded [3]bool
	least := max(size[0], size[1], size[2]) / 30
	legs := t.shape.legs
	for m := range legs {
		c[m], loaded[m] = Cell(phi[m]), size[m] > least
	}
	for m := range legs {
		next := (m + 1) % legs
		if loaded[m] {
			for turn := range t.turns {
				t.single[(m+turn)%legs][c[m]]++
			}
		}
		if legs > 1 && loaded[m] && loaded[next] {
			d := t.all[ClassOf(max(size[m], size[next])/min(size[m], size[next]))]
			for turn := range t.turns {
				d.pair[(m+turn)%legs][c[m]*Cells+c[next]]++
			}
		}
	}
	if legs == 3 && loaded == [3]bool{true, true, true} {
		d := t.all[ClassOf(max(size[0], size[1], size[2])/min(size[0], size[1], size[2]))]
		for turn := range t.turns {
			d.triple[(c[turn]*Cells+c[(turn+1)%3])*Cells+c[(turn+2)%3]]++
		}
	}
}

// finish smooths what was counted, and adds the floor.
func (t *tables) finish() {
	alike := alikeFloor(t.shape.legs)
	three, kinds := t.ownAngles()
	finish := func(p []float32, axes int) {
		total := t.smooth(p, axes)
		addFloor(p, total, axes, alike[axes])
	}
	finish(three, 1)
	finish(kinds, 1)
	t.finishSizes()
	for m := range t.shape.legs {
		finish(t.single[m], 1)
		if m == 0 || t.turns == 1 {
			t.third[m].finish()
		}
	}
	var heat *heatPanel
	if t.besides() {
		heat = deriveHeat(t.shape, t.smoother)
	}
	roots := rootsOf(&t.size, t.shape.legs)
	for i, d := range t.all {
		if i > 0 && d == t.all[0] {
			break
		}
		d.Three, d.Kinds, d.single, d.size, d.sizeRoot, d.third, d.heat = three, kinds, t.single, &t.size, roots, t.third, heat
		for m := range d.pair {
			if d.pair[m] != nil {
				finish(d.pair[m], 2)
			}
		}
		if d.legs == 3 {
			finish(d.triple, 3)
		}
	}
}

// ownAngles are those of single loads, three-phase ones and others.
func (t *tables) ownAngles() (three, kinds []float32) {
	three, kinds = make([]float32, Cells), make([]float32, Cells)
	share, ofThree := t.sort.shares()
	for i, k := range loadKinds {
		for x := k.low; x <= k.top; x++ {
			three[Cell(x)] += float32(ofThree[i] / (k.top - k.low + 1))
			kinds[Cell(x)] += float32(share[i] / (k.top - k.low + 1))
		}
	}
	return three, kinds
}
