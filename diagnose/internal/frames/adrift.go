package frames

import (
	"math"
	"math/cmplx"

	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// A neutral far from the middle of the legs.
//
// neutral.go weighs a lost neutral against one that holds. Where it has gone far, its
// voltages look like another service's, or like inputs that are dead, low or crossed with
// the neutral. What tells it is that the voltages between the legs stay: with the inputs'
// phasors V_k, for one turn rho and one place P of the neutral,
//
//	V_k = (E_k - P) exp(j rho)
//
// Where sizes alone are known, of a wye, whose E add up to nothing,
//
//	P = -(1/3) sum of |V_m|^2 E_m,   (1/3) sum of |V_m|^2 = 1 + |P|^2
//
// and of two legs it is taken to lie on the line between them.

// The densities of P where the neutral holds, at its middle, by the spreads of fit: on a
// line and in the plane. That of a lost one stands against them.
const (
	heldOnLine  = 11.0
	heldInPlane = 100.0
)

// nearestFar is |P|, per unit of nominal, below which neutral.go weighs it, and farBy the
// mean of what is far. Our choices.
const (
	nearestFar = 0.2
	farBy      = 0.4
)

// adrift is the log likelihood of the voltages with the service's neutral lost and far
// away, on the scale of soundFit; minus infinity where that can't be.
func adrift(r *reading.Reading, s wiring.Service) float64 {
	if s.Kind == wiring.Delta || s.Kind == wiring.TwoWire || len(r.Channels) < s.Legs() {
		return math.Inf(-1)
	}
	at, log, ok := measuredPlace(r, s)
	held := heldInPlane
	v := legVolts{legs: 3}
	if !ok {
		if at, log, ok = placeBySizes(r, s); !ok {
			return math.Inf(-1)
		}
		if s.Kind != wiring.Wye {
			v.legs, held = 2, heldOnLine
		}
	}
	if cmplx.Abs(at) < nearestFar {
		return math.Inf(-1)
	}
	return math.Log(priorNeutralLost*v.peaked(at, farBy)/held+1e-300) + log + Unused(r, s)
}

// measuredPlace finds P by the phasors of all legs, and how well they fit.
func measuredPlace(r *reading.Reading, s wiring.Service) (at complex128, log float64, ok bool) {
	var v [3]complex128
	n := s.Legs()
	for k := range n {
		size, known := r.Channels[k].Voltage.Get()
		angle, has := r.Channels[k].VoltageAngle.Get()
		if !known || !has {
			return 0, 0, false
		}
		v[k] = cmplx.Rect(math.Abs(size)/s.Nominal, angle.Radians())
	}
	log = math.Inf(-1)
	for _, q := range s.Sequences() {
		e := s.LegPhasors(q)
		turn, p := laid(v[:n], e[:n])
		var fits float64
		for k := range n {
			fits -= misfit(cmplx.Abs(v[k]*turn-(e[k]-p)), voltageSpread)
		}
		if fits > log {
			at, log = p-middle(s, e), fits
		}
	}
	return at, log, true
}

// laid gives the turn and the shift that lay the triangle v best on e.
func laid(v, e []complex128) (turn, shift complex128) {
	var ofV, ofE, sum complex128
	for k := range v {
		ofV, ofE = ofV+v[k]/complex(float64(len(v)), 0), ofE+e[k]/complex(float64(len(v)), 0)
	}
	for k := range v {
		sum += (e[k] - ofE) * cmplx.Conj(v[k]-ofV)
	}
	turn = unit(sum)
	return turn, ofE - ofV*turn
}

func unit(z complex128) complex128 {
	if z == 0 {
		return 1
	}
	return z / complex(cmplx.Abs(z), 0)
}

// middle is where a lost neutral stands under even loads: of two legs of a wye, between
// them.
func middle(s wiring.Service, e [3]complex128) complex128 {
	if s.Kind == wiring.WyeLegs {
		return (e[0] + e[1]) / 2
	}
	return 0
}

// placeBySizes finds P where no angles are known.
func placeBySizes(r *reading.Reading, s wiring.Service) (at complex128, log float64, ok bool) {
	e := s.LegPhasors(wiring.Forward)
	var size [3]float64
	for m := range s.Legs() {
		x, known := r.Channels[m].Voltage.Get()
		if !known {
			return 0, 0, false
		}
		size[m] = math.Abs(x) / s.Nominal
	}
	if s.Kind != wiring.Wye {
		return placeOnLine(s, e, size)
	}
	var squares float64
	for m, x := range size {
		squares += x * x / 3
		at -= complex(x*x/3, 0) * e[m]
	}
	want := math.Sqrt(1 + real(at)*real(at) + imag(at)*imag(at))
	return at, -misfit((math.Sqrt(squares)-want)/want, voltageSpread), true
}

// placeOnLine is that of two legs, with the high one beside them.
func placeOnLine(s wiring.Service, e [3]complex128, size [3]float64) (at complex128, log float64, ok bool) {
	var ends []int
	for m := range s.Legs() {
		if BearsNeutral(s, m) {
			ends = append(ends, m)
		}
	}
	if len(ends) != 2 {
		return 0, 0, false
	}
	a, b := ends[0], ends[1]
	line := cmplx.Abs(e[a] - e[b])
	log = -misfit((size[a]+size[b]-line)/line, voltageSpread)
	shift := (size[b] - size[a]) / 2
	for m := range s.Legs() {
		if m != a && m != b {
			want := math.Hypot(cmplx.Abs(e[m]), shift)
			log -= misfit((size[m]-want)/want, voltageSpread)
		}
	}
	return complex(shift, 0), log, true
}

// fartherLost is the probability that the neutral is lost and far away, over all services
// that it may be; declared is nil where none was.
func fartherLost(r *reading.Reading, declared *wiring.Service) float64 {
	var lost, all float64
	for _, s := range wiring.Services() {
		if !mayBe(r, s, declared) {
			continue
		}
		share := 1.0
		if declared != nil && s.Name != declared.Name {
			share = misdeclaredShare
		}
		s = PlaceHighLeg(r, s)
		far := share * math.Exp(adrift(r, s))
		lost += far
		all += far + share*math.Exp(soundFit(r, s))
	}
	return lost / (all + math.SmallestNonzeroFloat64)
}

// mayBe reports a service that is worth weighing: any other than one that was declared is
// one whose channels are all there is, up to three.
func mayBe(r *reading.Reading, s wiring.Service, declared *wiring.Service) bool {
	n := s.Channels()
	return n <= len(r.Channels) && (declared != nil || n == len(r.Channels) || len(r.Channels) > 3)
}
