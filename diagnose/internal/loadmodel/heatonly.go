package loadmodel

import (
	"math"
	"math/rand/v2"

	"legwork/diagnose/internal/gaussian"
)

// A panel of heat alone takes no reactive power, whatever hangs between which legs: the
// K of its legs (third.go) add up to a total with next to no angle.
const (
	heatPanels = 10_000
	totals     = 40
	totalWidth = 0.1  // of log |K_0 + K_1 + K_2| over the sum of the others
	totalFrom  = -1.0 // the least of it
)

type heatPanel struct {
	pair  [3][]float32    // probability of the cells of the legs that follow leg m
	total [totals]float64 // density of the total, per unit of the logarithm
}

func totalBin(sum, others complex128) int {
	r := math.Log(square(sum)/square(others)) / 2
	return min(max(0, int((r-totalFrom)/totalWidth)), totals-1)
}

func deriveHeat(shape Shape, by *smoother) *heatPanel {
	t := &heatPanel{}
	d := newDrawer(shape, Sort{}, rand.New(rand.NewPCG(1905, 1911)))
	d.share, d.ofAll = [kinds]float64{heat: 1}, [kinds]float64{heat: 1}
	for m := range t.pair {
		t.pair[m] = make([]float32, Cells*Cells)
	}
	var sum float64
	for range heatPanels {
		phi, size := d.draw()
		if min(size[0], size[1], size[2]) <= 0 {
			continue
		}
		k := legPhasors(phi, size, d.rng)
		for m := range k {
			t.total[totalBin(k[0]+k[1]+k[2], k[(m+1)%3]+k[(m+2)%3])]++
			sum++
			t.pair[m][Cell(phi[(m+1)%3])*Cells+Cell(phi[(m+2)%3])]++
		}
	}
	for m := range t.pair {
		by.smooth(t.pair[m], 2)
		normalise(t.pair[m])
	}
	for i := range t.total {
		t.total[i] = ((1-totalFloor)*t.total[i]/sum + totalFloor/totals) / totalWidth
	}
	return t
}

// at is the density of K of one leg beside the sum of the others', in A^-2.
func (t *heatPanel) at(k, others complex128) float64 {
	sum := k + others
	angle := gaussian.Line(lag(sum)-totalLag, totalScat) * 180 / math.Pi
	return t.total[totalBin(sum, others)] * angle / square(sum)
}
