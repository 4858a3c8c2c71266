package loadmodel

import (
	"math"

	"legwork/diagnose/internal/gaussian"
)

// mixedKernel is a smoothing kernel over cells: mostly narrow, partly wide,
//
//	k = (1 - w) N(0, narrow) + w N(0, wide)
//
// since a panel that is unlike the drawn ones is mostly a little so. Our choice.
func mixedKernel() []float64 {
	reach := int(math.Ceil(3 * wideSmoothing / CellDegrees))
	kernel := make([]float64, 2*reach+1)
	narrow, wide := gaussian.Kernel(reach, CellDegrees, narrowSmoothing), gaussian.Kernel(reach, CellDegrees, wideSmoothing)
	for i := range kernel {
		kernel[i] = (1-wideShare)*narrow[i] + wideShare*wide[i]
	}
	return kernel
}

// smoother convolves tables with a kernel. Its room is used again for every line.
type smoother struct {
	kernel []float64
	out    []float64 // a line of the circle, with the kernel's reach on either side
}

func newSmoother() *smoother {
	k := mixedKernel()
	return &smoother{kernel: k, out: make([]float64, Cells+len(k))}
}

// smooth convolves a table of some axes, each of a full circle, and gives what it adds
// up to.
func (s *smoother) smooth(t []float32, axes int) (total float64) {
	stride := 1
	for axis := range axes {
		for block := 0; block < len(t); block += stride * Cells {
			for start := block; start < block+stride; start++ {
				sum := s.line(t[start:], stride)
				if axis == 0 {
					total += sum
				}
			}
		}
		stride *= Cells
	}
	return total
}

// line convolves one line, out_i = sum_k kernel_k t_(i-k) about the circle, and gives what
// the line adds up to.
func (s *smoother) line(t []float32, stride int) (sum float64) {
	used := false
	for i := range Cells {
		x := float64(t[i*stride])
		if x == 0 {
			continue
		}
		if !used {
			clear(s.out)
			used = true
		}
		sum += x
		for k, w := range s.kernel {
			s.out[i+k] += w * x
		}
	}
	if !used {
		return 0
	}
	reach := len(s.kernel) / 2
	for i := range reach { // both ends go on at the other
		s.out[Cells+i] += s.out[i]
		s.out[reach+i] += s.out[Cells+reach+i]
	}
	for i, x := range s.out[reach : reach+Cells] {
		t[i*stride] = float32(x)
	}
	return sum
}

func normalise(t []float32) {
	sum := sum(t)
	for i := range t {
		t[i] = float32(float64(t[i]) / sum)
	}
}

func sum(t []float32) (sum float64) {
	for _, x := range t {
		sum += float64(x)
	}
	return sum
}

// alikeFloor gives, for 1 to legs axes, the table of legs that are alike
// within about 10 degrees at any angle within 90.
func alikeFloor(legs int) [4][]float32 {
	var floor [4][]float32
	scatter := gaussian.Kernel(4, CellDegrees, 7)
	for axes := 1; axes <= legs; axes++ {
		t := make([]float32, power(Cells, axes))
		for centre := -90; centre <= 90; centre += CellDegrees {
			spread(t, axes, Cell(float64(centre)), scatter)
		}
		normalise(t)
		floor[axes] = t
	}
	return floor
}

// spread adds one product of scatter curves round a centre.
func spread(t []float32, axes, centre int, scatter []float64) {
	n := len(scatter)
	for i := range power(n, axes) {
		at, weight, rest := 0, 1.0, i
		for range axes {
			at = at*Cells + (centre+rest%n-n/2+Cells)%Cells
			weight *= scatter[rest%n]
			rest /= n
		}
		t[at] += float32(weight)
	}
}

// addFloor mixes a table that adds up to total with panels unlike the usual ones: legs
// alike at an odd angle, legs each by itself within 95 degrees, and anything,
//
//	(1 - f) p / total + f (a alike + b box + (1 - a - b) / cells)
//
// each of which adds up to one, as the whole does.
func addFloor(t []float32, total float64, axes int, alike []float32) {
	const within = 95 / CellDegrees // cells, either way
	box := float32(floorShare * floorApart / math.Pow(2*95/CellDegrees+1, float64(axes)))
	anything := float32(floorShare * (1 - floorAlike - floorApart) / float64(len(t)))
	share := float32(0)
	if total > 0 {
		share = float32((1 - floorShare) / total)
	}
	for start := 0; start < len(t); start += Cells {
		inside := inBox(start/Cells%Cells, within) && inBox(start/(Cells*Cells), within)
		line, like := t[start:start+Cells], alike[start:start+Cells]
		for i := range line {
			floor := floorShare*floorAlike*like[i] + anything
			if inside && inBox(i, within) {
				floor += box
			}
			line[i] = share*line[i] + floor
		}
	}
}

func inBox(cell, within int) bool { return cell <= within || cell >= Cells-within }

func power(base, exponent int) int {
	p := 1
	for range exponent {
		p *= base
	}
	return p
}
