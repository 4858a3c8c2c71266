package loadmodel

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
)

// A panel model: what loads hang on a panel, how large they are, and between
// which conductors. The density of load angles is derived from it (density.go).
// All numbers here are assumptions of ours about ordinary panels, no source;
// they are kept wide, since a strange load must not make a strange arrangement
// certain.

// loadKind is a kind of load by the angle of its own current.
type loadKind struct {
	share    float64 // of the loads to neutral or between two legs
	three    float64 // of the three-phase loads
	low, top float64 // degrees behind its own voltage
}

// The kinds, by their place in loadKinds.
const (
	heat = iota
	light
	running
	idling
	bank
	anything
	kinds // how many there are
)

var loadKinds = [kinds]loadKind{
	heat:     {0.30, 0.22, -2, 4},
	light:    {0.22, 0.14, -20, 25},  // electronics, drives, lighting
	running:  {0.30, 0.52, 22, 52},   // running motors
	idling:   {0.06, 0.08, 50, 80},   // idling motors
	bank:     {0.01, 0.01, -90, -60}, // capacitors
	anything: {0.05, 0.03, -60, 60},
}

// Shape is what the model knows of the service: its legs, in canonical
// order, and which of them can feed a load to neutral.
type Shape struct {
	legs    int
	e       [3]complex128 // per unit
	neutral [3]bool
}

// drawer draws the legs' load angles of random panels, in degrees.
type drawer struct {
	shape Shape
	rng   *rand.Rand
	sort  Sort
	share [kinds]float64 // of the kinds, by the sort
	ofAll [kinds]float64 // the same of three-phase loads
	kinds [kinds]float64 // cumulative shares on the panel at hand
	three [kinds]float64 // the same of its three-phase loads
	where [3]float64     // cumulative: to neutral, between legs, three-phase

	// The voltages that loads hang on, of size 1: of each leg, from leg to leg, and from
	// the star point of the legs.
	leg  [3]complex128
	line [3][3]complex128
	star [3]complex128
}

func newDrawer(shape Shape, sort Sort, rng *rand.Rand) *drawer {
	d := &drawer{shape: shape, sort: sort, rng: rng}
	d.share, d.ofAll = sort.shares()
	middle := (shape.e[0] + shape.e[1] + shape.e[2]) / 3
	for m := range shape.legs {
		d.leg[m], d.star[m] = unit(shape.e[m]), unit(shape.e[m]-middle)
		for o := range shape.legs {
			d.line[m][o] = unit(shape.e[m] - shape.e[o])
		}
	}
	return d
}

func unit(z complex128) complex128 {
	if z == 0 {
		return 0
	}
	return z / complex(cmplx.Abs(z), 0)
}

// draw gives the angle of every leg and its current; a leg without any has 0 current.
func (d *drawer) draw() (phi, size [3]float64) {
	d.mix()
	var j [3]complex128
	for n := 2 + d.rng.IntN(3) + int(d.rng.ExpFloat64()*5); n > 0; n-- {
		d.hang(&j)
	}
	if d.sort.Panel == OneSided {
		d.lean(&j)
	}
	for m := range d.shape.legs {
		size[m] = cmplx.Abs(j[m])
		if size[m] > 0 {
			phi[m] = cmplx.Phase(d.shape.e[m]*cmplx.Conj(j[m])) * 180 / math.Pi // arg(E J*): lag is positive
		}
	}
	return phi, size
}

// lean turns the legs to one common lead or lag, and each a little from it.
func (d *drawer) lean(j *[3]complex128) {
	if d.sort.Declared.banks() && d.rng.Float64() < bankShare {
		d.bank(j)
		return
	}
	by := leastLead + (mostLead-leastLead)*d.rng.Float64()
	if d.rng.Float64() < d.lagShare() {
		by = -leastLag - (mostLag-leastLag)*d.rng.Float64()
	}
	spread := leadSpread
	if d.rng.IntN(oneIn) == 0 {
		spread *= 3
	}
	for m := range d.shape.legs {
		angle := (by + spread*d.rng.NormFloat64()) * math.Pi / 180
		j[m] = d.leg[m] * cmplx.Rect(cmplx.Abs(j[m]), angle)
	}
}

// lagShare is that of one-sided panels which lag: all or none, by what was declared.
func (d *drawer) lagShare() float64 {
	switch k := d.sort.Declared; {
	case k == 0:
		return lagShare
	case k&Leading == 0:
		return 1
	}
	return 0
}

// bank adds the same current to every leg, a quarter turn ahead of the voltage from
// the star point: I = j omega C V. All sizes between the bounds are as likely by their
// logarithm (our choice).
func (d *drawer) bank(j *[3]complex128) {
	var mean float64
	for m := range d.shape.legs {
		mean += cmplx.Abs(j[m]) / float64(d.shape.legs)
	}
	size := mean * leastBank * math.Pow(mostBank/leastBank, d.rng.Float64())
	for m := range d.shape.legs {
		j[m] += d.star[m] * complex(0, size)
	}
}

// mix draws what sort of panel it is: the shares of kinds and places vary from
// panel to panel, w_i = share_i exp(0.8 x_i) with x_i standard normal, and one panel in
// five has mostly one kind. Our choice.
func (d *drawer) mix() {
	var sum, three float64
	favourite := -1
	if d.rng.Float64() < 0.2 {
		favourite = d.rng.IntN(4)
	}
	for i := range loadKinds {
		w := math.Exp(0.8 * d.rng.NormFloat64())
		if i == favourite {
			w *= 15
		}
		sum += w * d.share[i]
		three += w * d.ofAll[i]
		d.kinds[i], d.three[i] = sum, three
	}
	sum = 0
	for i, share := range [...]float64{0.5, 0.22, 0.28} {
		sum += share * math.Exp(d.rng.NormFloat64())
		d.where[i] = sum
	}
}

// hang adds one load to the currents of the legs, J = V/|V| size exp(-j lag): sizes are
// lognormal, of one standard deviation of the logarithm; our choice.
func (d *drawer) hang(j *[3]complex128) {
	place := pick(d.where[:], d.rng)
	if place == 2 && d.shape.legs < 3 {
		place = 0
	}
	kinds := &d.kinds
	if place == 2 {
		kinds = &d.three
	}
	kind := loadKinds[pick(kinds[:], d.rng)]
	lag := kind.low + (kind.top-kind.low)*d.rng.Float64()
	turn := cmplx.Rect(math.Exp(d.rng.NormFloat64()), -lag*math.Pi/180)
	switch place {
	case 2:
		d.threePhase(j, turn)
	case 1:
		d.between(j, turn)
	default:
		d.toNeutral(j, turn)
	}
}

// threePhase loads every leg alike, as seen from the star point of the legs.
func (d *drawer) threePhase(j *[3]complex128, turn complex128) {
	for m := range j {
		j[m] += d.star[m] * turn * 1.5
	}
}

// between puts a load across two legs, so that their currents are opposite: with the
// voltage E_a - E_b across it, J_a = I and J_b = -I.
func (d *drawer) between(j *[3]complex128, turn complex128) {
	if d.shape.legs < 2 {
		d.toNeutral(j, turn)
		return
	}
	a := d.rng.IntN(d.shape.legs)
	b := (a + 1 + d.rng.IntN(d.shape.legs-1)) % d.shape.legs
	i := d.line[a][b] * turn
	j[a] += i
	j[b] -= i
}

func (d *drawer) toNeutral(j *[3]complex128, turn complex128) {
	m := d.rng.IntN(d.shape.legs)
	if !d.shape.neutral[m] {
		if d.shape.legs > 1 && !d.shape.neutral[0] && !d.shape.neutral[1] {
			d.between(j, turn)
			return
		}
		m = (m + 1) % d.shape.legs
	}
	j[m] += d.leg[m] * turn
}

// pick draws an index from cumulative weights.
func pick(cumulative []float64, rng *rand.Rand) int {
	x := rng.Float64() * cumulative[len(cumulative)-1]
	for i, c := range cumulative {
		if x < c {
			return i
		}
	}
	return len(cumulative) - 1
}
