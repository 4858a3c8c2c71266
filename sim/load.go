package sim

import (
	"math"
	"math/cmplx"
)

// Load is one thing that is switched on and off. From and To are the conductors
// that it hangs between; Three puts it on all three legs instead.
type Load struct {
	Name     string
	VA       float64 // apparent power of the fundamental, V times A
	Lag      float64 // degrees by which the current lags the voltage across the load
	Harmonic float64 // harmonic current over the fundamental, a ratio
	From, To Conductor
	Three    bool
	Off      bool
}

// Panel is a supply with what hangs on it.
type Panel struct {
	Supply *Supply
	Loads  []Load
	// Fixed currents flow in the legs besides those of the loads, in A rms
	// towards the loads: published phasors, say.
	Fixed map[Conductor]complex128
}

// flow is the current of every conductor in A, positive towards the loads:
// the fundamental, and the square of the harmonics.
type flow struct {
	amps      [conductors]complex128
	harmonics [conductors]float64
}

// rms is the true effective value of a conductor's current in A.
func (f *flow) rms(c Conductor) float64 {
	a := cmplx.Abs(f.amps[c])
	return math.Sqrt(a*a + f.harmonics[c])
}

// flow adds up what the loads draw: conj(S/V) each.
func (p *Panel) flow() flow {
	var f flow
	for c, j := range p.Fixed {
		f.into(c, j, 0)
		f.into(Neutral, -j, 0)
	}
	for i := range p.Loads {
		l := &p.Loads[i]
		switch {
		case l.Off:
		case l.Three:
			p.addThree(&f, l)
		default:
			j := cmplx.Conj(phasor(l.VA, l.Lag) / (p.Supply.volts[l.From] - p.Supply.volts[l.To]))
			f.into(l.From, j, l.Harmonic)
			f.into(l.To, -j, l.Harmonic)
		}
	}
	return f
}

// addThree shares a three-phase load out: the star point is nowhere connected,
// so the load is an equal admittance from each leg to the middle of the three.
func (p *Panel) addThree(f *flow, l *Load) {
	var middle complex128
	for _, c := range p.Supply.Legs {
		middle += p.Supply.volts[c] / 3
	}
	var squares float64
	for _, c := range p.Supply.Legs {
		v := cmplx.Abs(p.Supply.volts[c] - middle)
		squares += v * v
	}
	y := cmplx.Conj(phasor(l.VA, l.Lag)) / complex(squares, 0)
	for _, c := range p.Supply.Legs {
		f.into(c, y*(p.Supply.volts[c]-middle), l.Harmonic)
	}
}

func (f *flow) into(c Conductor, j complex128, harmonic float64) {
	f.amps[c] += j
	h := harmonic * cmplx.Abs(j)
	f.harmonics[c] += h * h
}
