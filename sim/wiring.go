package sim

import "math/cmplx"

// CT is a current transformer, counted by the channel on which its leads are landed.
type CT struct {
	Round  Conductor // the conductor that it surrounds
	Turned bool
	Open   bool    // reads nothing
	Ratio  float64 // what is read over what flows; 1 is right
}

// Wiring says what is landed on what. Arrays hold channel 1 first; channels
// that the service lacks are zero.
type Wiring struct {
	Inputs [3]Conductor
	// BackFed is the share of a dead input's voltage that still arrives by way
	// of something else on the same wires.
	BackFed [3]float64
	Common  Conductor // on which the meter's neutral, or common, terminal is landed
	CTs     [3]CT
	// NeutralLost says that the service's own neutral is open upstream.
	NeutralLost bool
}

// home is the conductor on which input and CT of channel k (from 0) belong.
func (s *Supply) home(k int) Conductor {
	if s.Delta() && k == 1 {
		return LegC
	}
	return s.Legs[k]
}

// RightWiring has every lead and every CT where it belongs.
func RightWiring(s *Supply) Wiring {
	w := Wiring{Common: Neutral}
	if s.Delta() {
		w.Common = LegB
	}
	for k := range s.Channels() {
		w.Inputs[k] = s.home(k)
		w.CTs[k] = CT{Round: s.home(k), Ratio: 1}
	}
	return w
}

// volts gives what arrives at each voltage input.
func (w *Wiring) volts(s *Supply) [3]complex128 {
	var v [3]complex128
	for k := range s.Channels() {
		if w.Inputs[k] != Nothing {
			v[k] = s.volts[w.Inputs[k]] - s.volts[w.Common]
		} else if w.BackFed[k] != 0 {
			v[k] = (s.volts[s.home(k)] - s.volts[w.Common]) * complex(w.BackFed[k], 0)
		}
	}
	return v
}

// Truth is what is really there, channel 1 first, and what power flows.
type Truth struct {
	Backward    bool // sequence ACB
	Inputs      [3]Conductor
	Round       [3]Conductor
	Turned      [3]bool
	Power       [conductors]float64 // W through each leg
	Amps        [conductors]float64 // A rms
	Total       float64             // W
	Registered  float64             // W that an errorless meter registers, wired as it is
	NeutralLost bool
}

func (w *Wiring) truth(p *Panel) Truth {
	supply := p.Supply
	if w.NeutralLost {
		supply = supply.withoutNeutral(p)
	}
	f := (&Panel{Supply: supply, Loads: p.Loads, Fixed: p.Fixed}).flow()
	t := Truth{Backward: p.Supply.backward(), Inputs: w.Inputs, NeutralLost: w.NeutralLost}
	for _, c := range p.Supply.Legs {
		t.Power[c] = real(supply.volts[c] * cmplx.Conj(f.amps[c]))
		t.Amps[c] = f.rms(c)
		t.Total += t.Power[c]
	}
	volts := w.volts(supply)
	for k := range p.Supply.Channels() {
		ct := w.CTs[k]
		t.Round[k], t.Turned[k] = ct.Round, ct.Turned
		t.Registered += real(volts[k] * cmplx.Conj(ct.sees(&f)))
	}
	return t
}

// sees is the fundamental that the CT brings to its channel.
func (c CT) sees(f *flow) complex128 {
	if c.Open {
		return 0
	}
	j := f.amps[c.Round] * complex(c.Ratio, 0)
	if c.Turned {
		return -j
	}
	return j
}

// backward reports sequence ACB; it has a meaning for legs that aren't at 180
// degrees.
func (s *Supply) backward() bool {
	return len(s.Legs) > 1 && imag(s.volts[s.Legs[1]]/s.volts[s.Legs[0]]) > 0
}
