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
	midEdges    = [...]float64{-0.09, 0.18, 0.47}           // of the tangent of the lag: -5, 10, 25 degrees
	legEdges    = [...]float64{-0.14, 0.14, 0.47, 1.19}     // -8, 8, 25, 50 degrees
)

type third [thirdTables][thirdRings][thirdRays]float32

// Others are the currents of two legs, beside which the third one's is looked at.
type Others struct {
	table *[thirdRings][thirdRays]float32
	heat  *heatPanel
	share float64    // of panels of heat alone
	from  complex128 // where the cells lie about
	unit  complex128 // K from there over this is q
	size  float64    // A^2 of unit
	near  float64    // |q|^2 within which rays are counted from s
	s     complex128
	sum   complex128
}

// othersOf finds the table for the legs that follow leg m.
func (t *third) othersOf(n, o complex128) (x Others) {
	x.sum = n + o
	mid := x.sum / 2
	if mid == 0 {
		mid = (n - o) / 2
	}
	s := (n - o) / mid
	like := square(s)
	kind := 0
	for kind < alikes && like >= alikeEdges[kind]*alikeEdges[kind] {
		kind++
	}
	if kind == alikes {
		a, b := cmplx.Abs(n), cmplx.Abs(o)
		at := (under(unlikeEdges[:], a/b)*legAngles+lagBin(legEdges[:], n))*legAngles + lagBin(legEdges[:], o)
		x.table, x.unit, x.size = &t[alikes*midAngles*quarters+at], complex((a+b)/2, 0), (a+b)*(a+b)/4
		return x
	}
	x.table = &t[(kind*midAngles+lagBin(midEdges[:], mid))*quarters+quarterOf(s)]
	x.from, x.unit, x.size, x.s = mid, mid, square(mid), s
	x.near = nearby * nearby * like
	return x
}

func square(z complex128) float64 { return real(z)*real(z) + imag(z)*imag(z) }

// place is the ring and the ray of K.
func (x *Others) place(k complex128) (ring, ray int) {
	q := (k - x.from) / x.unit
	size := square(q)
	if size < x.near {
		q /= x.s
	}
	return ringOf(size), rayOf(q)
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

const innermost = 3.3546262790251185e-4 // exp(2 firstRing)

// lagBin is how many edges, tangents of a lag, z has reached.
func lagBin(edges []float64, z complex128) int {
	x, y := real(z), -imag(z)
	switch {
	case x > 0:
		return under(edges, y/x)
	case y > 0:
		return len(edges)
	}
	return 0
}

// quarterOf is the quarter of the plane, about each axis, that z lies in.
func quarterOf(z complex128) int {
	x, y := real(z), imag(z)
	switch {
	case x >= math.Abs(y):
		return 0
	case y >= math.Abs(x):
		return 1
	case -x >= math.Abs(y):
		return 2
	}
	return 3
}

// lag is the angle of K in degrees, behind the voltage.
func lag(z complex128) float64 { return -cmplx.Phase(z) * 180 / math.Pi }

// ringOf is the ring of the square of |q|.
func ringOf(square float64) int {
	if square <= innermost {
		return 0
	}
	return min(int(math.Ceil((math.Log(square)/2-firstRing)/ringWidth)), thirdRings-1)
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

// drop counts the leg of one panel that carries k, and the two that follow it.
func (t *third) drop(k, n, o complex128) {
	x := t.othersOf(n, o)
	ring, ray := x.place(k)
	x.table[ring][ray]++
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

// Beside takes the currents K of the legs other than m, and the cells of their load
// angles; all by canonical axis.
func (d *Density) Beside(k *[3]complex128, at [3]int, m int) Others {
	n, o := (m+1)%3, (m+2)%3
	x := d.third[m].othersOf(k[n], k[o])
	cell := at[n]*Cells + at[o]
	p, q := heatOnly*float64(d.heat.pair[m][cell]), (1-heatOnly)*float64(d.pair[n][cell])
	x.share, x.heat = p/(p+q), d.heat
	return x
}

// leastHeat is the share of panels of heat alone that isn't worth its exponential.
const leastHeat = 1e-4

// At is the density of K of the leg, in A^-2.
func (x *Others) At(k complex128) float64 {
	ring, ray := x.place(k)
	plain := float64(x.table[ring][ray]) / x.size
	if x.share < leastHeat {
		return plain
	}
	return (1-x.share)*plain + x.share*x.heat.at(k, x.sum)
}

// legPhasors are K of a panel, with the errors of CTs.
func legPhasors(phi, size [3]float64, rng *rand.Rand) (k [3]complex128) {
	for m := range k {
		k[m] = cmplx.Rect(size[m]*(1+sizeError*rng.NormFloat64()), -phi[m]*math.Pi/180+angleError*rng.NormFloat64())
	}
	return k
}
