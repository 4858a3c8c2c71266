package loadmodel

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
)

// The current of one leg of three beside the two others, in size and angle at once.
//
// With K = J / E, E of size 1, three-phase loads alone make K the same on all legs, and
// what hangs on fewer legs makes them differ. Given K_n and K_o of the legs that follow
// leg m, with
//
//	mid = (K_n + K_o) / 2,   s = (K_n - K_o) / mid,   q = (K_m - mid) / mid
//
// the density of q is in cells of rings and rays about mid, a table for each size and
// quarter of s and each angle of mid. Within about |s| the rays are counted from s: a load
// on one of the two others alone makes q / s plus or minus one half. Where the two others
// are unlike, the cells lie about nothing, and the tables go by the others' own angles.
const (
	thirdRings = 32
	ringWidth  = 0.2  // of log |q|
	firstRing  = -4.0 // log |q| at the outer edge of the innermost ring
	thirdRays  = 24
	nearby     = 1.5 // |q / s| up to which rays are counted from s
	quarters   = 4
	thirdFloor = 0.01 // share of panels with q in any cell: our choice

	thirdTables = alikes*midAngles*quarters + unlikes*legAngles*legAngles
	alikes      = len(alikeEdges)
	unlikes     = len(unlikeEdges) + 1
	midAngles   = len(midEdges) + 1
	legAngles   = len(legEdges) + 1

	// The errors of a CT: half the limits of class 1 at rated current (IEC 61869-2, Table 201).
	sizeError  = 0.005
	angleError = 0.0087 // rad
)

// Edges between the tables. Our choice, no source.
var (
	alikeEdges  = [...]float64{0.03, 0.06, 0.12, 0.2, 0.35} // of |s|
	unlikeEdges = [...]float64{0.6, 1.6}                    // of |K_n / K_o|
	midEdges    = [...]float64{-5, 10, 25}                  // degrees of lag
	legEdges    = [...]float64{-8, 8, 25, 50}
)

type third [thirdTables][thirdRings][thirdRays]float32

// place is where K_m lies in the tables.
type place struct {
	table, ring, ray int
	unit             float64 // A for which |q| is one
}

func placeOf(k *[3]complex128, m int) place {
	n, o := k[(m+1)%3], k[(m+2)%3]
	mid := (n + o) / 2
	s := (n - o) / mid
	like := cmplx.Abs(s)
	kind := under(alikeEdges[:], like)
	if kind == alikes || mid == 0 {
		return unlikePlace(k[m], n, o)
	}
	quarter := int(math.Floor(quarters*(cmplx.Phase(s)/(2*math.Pi)+1)+0.5)) % quarters
	q := (k[m] - mid) / mid
	size, from := cmplx.Abs(q), q
	if size < nearby*like {
		from = q / s
	}
	table := (kind*midAngles+under(midEdges[:], lag(mid)))*quarters + quarter
	return place{table, ringOf(size), rayOf(from), cmplx.Abs(mid)}
}

func unlikePlace(z, n, o complex128) place {
	a, b := cmplx.Abs(n), cmplx.Abs(o)
	table := (under(unlikeEdges[:], a/b)*legAngles+under(legEdges[:], lag(n)))*legAngles + under(legEdges[:], lag(o))
	unit := (a + b) / 2
	return place{alikes*midAngles*quarters + table, ringOf(cmplx.Abs(z) / unit), rayOf(z), unit}
}

// under is how many edges x has reached.
func under(edges []float64, x float64) int {
	for i, e := range edges {
		if x < e {
			return i
		}
	}
	return len(edges)
}

func lag(z complex128) float64 { return -cmplx.Phase(z) * 180 / math.Pi }

func ringOf(size float64) int {
	if size <= 0 {
		return 0
	}
	return min(max(0, int(math.Ceil((math.Log(size)-firstRing)/ringWidth))), thirdRings-1)
}

func rayOf(z complex128) int {
	return int(math.Floor((cmplx.Phase(z)/(2*math.Pi)+1)*thirdRays+0.5)) % thirdRays
}

// area of a cell of each ring, in the plane of q.
func ringAreas() (area [thirdRings]float64) {
	var inside float64
	for r := range area {
		whole := math.Pi * math.Exp(2*(firstRing+ringWidth*float64(r)))
		area[r] = (whole - inside) / thirdRays
		inside = whole
	}
	return area
}

// drop counts one panel.
func (t *third) drop(k *[3]complex128, m int) {
	p := placeOf(k, m)
	t[p.table][p.ring][p.ray]++
}

// finish turns counts into densities per unit of area of q.
func (t *third) finish() {
	area := ringAreas()
	for i := range t {
		var sum float32
		for r := range t[i] {
			for _, n := range t[i][r] {
				sum += n
			}
		}
		if sum > 0 {
			smoothRings(&t[i])
		}
		for r := range t[i] {
			for a, n := range t[i][r] {
				if sum > 0 {
					n *= (1 - thirdFloor) / sum
				} else {
					n = (1 - thirdFloor) / (thirdRings * thirdRays)
				}
				t[i][r][a] = (n + thirdFloor/(thirdRings*thirdRays)) / float32(area[r])
			}
		}
	}
}

// smoothRings shares each count with the cells beside it.
func smoothRings(t *[thirdRings][thirdRays]float32) {
	const beside = 0.2
	weights := [3]float32{beside, 1 - 2*beside, beside}
	var out [thirdRings][thirdRays]float32
	for r := range t {
		for a, n := range t[r] {
			if n == 0 {
				continue
			}
			for dr, wr := range weights {
				to := &out[min(max(r+dr-1, 0), thirdRings-1)]
				for da, wa := range weights {
					to[(a+da-1+thirdRays)%thirdRays] += n * wr * wa
				}
			}
		}
	}
	*t = out
}

// Besides reports that Beside is known.
func (d *Density) Besides() bool { return d.heat != nil }

// Beside is the density of K_m beside the others, in A^-2; K by canonical axis.
func (d *Density) Beside(k *[3]complex128, m int) float64 {
	p := placeOf(k, m)
	plain := float64(d.third[m][p.table][p.ring][p.ray]) / (p.unit * p.unit)
	share := d.heatShare(k, m)
	return (1-share)*plain + share*d.heat.at(k, m)
}

// legPhasors are K of a panel, with the errors of CTs.
func legPhasors(phi, size [3]float64, rng *rand.Rand) (k [3]complex128) {
	for m := range k {
		k[m] = cmplx.Rect(size[m]*(1+sizeError*rng.NormFloat64()), -phi[m]*math.Pi/180+angleError*rng.NormFloat64())
	}
	return k
}
