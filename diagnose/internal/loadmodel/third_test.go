package loadmodel

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose/wiring"
)

func deriveWye(t *testing.T) *Density {
	s, err := wiring.ParseService("120/208Y")
	require.NoError(t, err)
	return Derive(ShapeOf(s), Sort{})[0]
}

// The density of one leg beside the others sums to one, whatever the others are.
func TestEveryThirdLegSumsToOne(t *testing.T) {
	d := deriveWye(t)
	area := ringAreas()
	for i := range d.third[0] {
		var sum float64
		for ring, rays := range d.third[0][i] {
			for _, p := range rays {
				sum += float64(p) * area[ring]
			}
		}
		require.InDelta(t, 1, sum, 1e-3, "table %d", i)
	}
	var totals float64
	for _, p := range d.heat.total {
		totals += p * totalWidth
	}
	require.InDelta(t, 1, totals, 1e-9)
	for m := range d.heat.pair {
		require.InDelta(t, 1, sum(d.heat.pair[m]), 1e-3)
	}
}

// A leg that is like two legs alike is far likelier than one that is a third of them, at
// any angle; where the others differ by a load on one of them, so is one without that load.
func TestThirdLegGoesByTheOthers(t *testing.T) {
	d := deriveWye(t)
	at := func(k complex128, n, o complex128) float64 {
		x := d.Beside(&[3]complex128{0, n, o}, [3]int{-1, Cell(lag(n)), Cell(lag(o))}, 0)
		return x.At(k) * square(k)
	}
	three, single := cmplx.Rect(100, -0.6), cmplx.Rect(30, -0.1)
	require.Greater(t, at(three, three, three*1.01), 30*at(three/3, three, three*1.01))
	require.Greater(t, at(three, three+single, three), 5*at(three-single, three+single, three))
}

// On panels drawn anew the true angle of the leg is likelier than one at random.
func TestThirdLegTellsItsAngle(t *testing.T) {
	d := deriveWye(t)
	s, err := wiring.ParseService("120/208Y")
	require.NoError(t, err)
	draw := newDrawer(ShapeOf(s), Sort{}, rand.New(rand.NewPCG(7, 7)))
	var better int
	const panels = 2000
	for range panels {
		phi, size := draw.draw()
		if min(size[0], size[1], size[2]) <= 0 {
			continue
		}
		k := legPhasors(phi, size, draw.rng)
		x := d.Beside(&k, [3]int{Cell(phi[0]), Cell(phi[1]), Cell(phi[2])}, 0)
		as := func(z complex128) float64 { return x.At(z) * square(z) }
		turned := cmplx.Rect(1, 2*math.Pi*draw.rng.Float64())
		if as(k[0]) > as(k[0]*turned) {
			better++
		}
	}
	require.Greater(t, float64(better), 0.85*panels, "the true angle against one at random")
}
