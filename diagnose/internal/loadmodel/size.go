package loadmodel

import (
	"math"

	"legwork/diagnose/internal/gaussian"
)

// How the size of one leg's current compares with that of the others: the density
// of d = log(|J_m| / mean of the logarithms of the others), over bins. It is needed
// only where a leg is supposed that no CT measures.

const (
	sizeBins  = 81
	sizeWidth = 0.1 // of d
)

func sizeBin(d float64) int {
	i := int(math.Round(d/sizeWidth)) + sizeBins/2
	return min(max(i, 0), sizeBins-1)
}

// weighSizes counts the legs of one panel.
func (t *tables) weighSizes(size [3]float64) {
	for m := range t.shape.legs {
		if x, ok := against(t.shape.legs, size, m); ok {
			t.size[sizeBin(x)]++
		}
	}
}

// against is d of leg m; ok is false where there is no other leg or no current.
func against(legs int, size [3]float64, m int) (x float64, ok bool) {
	var sum float64
	for o := range legs {
		if size[o] <= 0 {
			return 0, false
		}
		if o != m {
			sum += math.Log(size[o])
		}
	}
	if legs < 2 {
		return 0, false
	}
	return math.Log(size[m]) - sum/float64(legs-1), true
}

// finishSizes smooths the bins to a density per unit of d that sums to one, with a
// floor for sizes that the model doesn't know.
func (t *tables) finishSizes() {
	kernel := gaussian.Kernel(5, sizeWidth, 0.15)
	var out [sizeBins]float64
	var sum float64
	for i, n := range t.size {
		for k, w := range kernel {
			out[min(max(i+k-5, 0), sizeBins-1)] += w * n
		}
		sum += n
	}
	for i := range out {
		if sum > 0 {
			out[i] *= (1 - sizeFloor) / (sum * sizeWidth)
		}
		out[i] += sizeFloor / (sizeBins * sizeWidth)
	}
	t.size = out
}

// Size is the density, per unit of the logarithm, of the current of axis m beside
// the others; sizes in A by canonical axis. It is 1 where there is no other leg.
func (d *Density) Size(size [3]float64, m int) float64 {
	x, ok := against(d.legs, size, m)
	if !ok {
		return 1
	}
	return d.size[sizeBin(x)]
}

// Sizes is the density of the legs' currents beside each other, sizes in A by
// canonical axis, up to the common size: each leg by what it is beside the others,
// the power making up for counting each ratio more than once,
//
//	product of p(d_m) ^ ((n - 1) / n)
func (d *Density) Sizes(size [3]float64) float64 {
	if d.legs < 2 {
		return 1
	}
	var log [3]float64
	var sum float64
	for m := range d.legs {
		if size[m] <= 0 {
			return 1
		}
		log[m] = math.Log(size[m])
		sum += log[m]
	}
	p := 1.0
	for m := range d.legs {
		p *= d.sizeRoot[sizeBin(log[m]-(sum-log[m])/float64(d.legs-1))]
	}
	return p
}

// rootsOf are the powers of a density of sizes that Sizes multiplies.
func rootsOf(size *[sizeBins]float64, legs int) *[sizeBins]float64 {
	var roots [sizeBins]float64
	for i, p := range size {
		roots[i] = math.Pow(p, float64(legs-1)/float64(legs))
	}
	return &roots
}
