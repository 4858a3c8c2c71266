package sim

import (
	"math"
	"math/cmplx"
)

// CT is a current transformer, counted by the channel on which its leads are
// landed.
type CT struct {
	Round   Conductor // the conductor that it surrounds
	Turned  bool      // the wrong way round
	Ratio   float64   // what is read over what flows; 1 is right
	Open    bool      // its secondary is broken: it reads nothing
	Shorted bool      // its secondary is shorted: it reads nothing
}

// Wiring says what is landed on what. Arrays hold channel 1 first; channels
// that the service lacks are zero. Wirings can be compared with ==.
type Wiring struct {
	Inputs [3]Conductor // on which the leads of the voltage inputs are landed
	// BackFed, where it isn't 0, is the share of the voltage that still arrives
	// at an input with an open fuse, by way of something else on the same wires.
	BackFed [3]float64
	// Loose is a lead, a clip or a fuse that makes poor contact: see at.
	Loose  [3]bool
	Common Conductor // on which the meter's neutral (or common) terminal is landed
	CTs    [3]CT
	// NeutralLost says that the service's own neutral is open upstream.
	NeutralLost bool

	channels int
}

// RightWiring has every lead and every CT where it belongs.
func RightWiring(u *Supply) Wiring {
	s := u.Service
	w := Wiring{Common: s.commonHome(), channels: s.Channels()}
	for k := range w.channels {
		w.Inputs[k] = s.home(k)
		w.CTs[k] = CT{Round: s.home(k), Ratio: 1}
	}
	return w
}

// A poor contact is off for some seconds in so many. Our choice, no source.
const (
	looseEvery = 10.0 // s
	looseFor   = 3.0  // s, after it held for the rest
)

// at is the wiring as it is so many seconds after the beginning: what is loose is off now
// and then, that of each channel at its own times.
func (w *Wiring) at(seconds float64) Wiring {
	now := *w
	for k, loose := range w.Loose {
		if loose && math.Mod(seconds+float64(k), looseEvery) >= looseEvery-looseFor {
			now.Inputs[k] = Nothing
		}
	}
	return now
}

// Seen is what arrives at the terminals of one channel.
type Seen struct {
	Voltage complex128 // V rms
	Current Current    // A, in the primary of a CT that has the right ratio
}

// power is what a meter registers there, in W and VA.
func (s Seen) power() (watts, apparent float64) {
	return real(s.Voltage * cmplx.Conj(s.Current.Fundamental)), cmplx.Abs(s.Voltage) * s.Current.RMS()
}

// See gives what the wiring brings to each channel, channel 1 first; Seen of a
// channel that the service lacks is zero.
func (w *Wiring) See(f *Flow) (seen [3]Seen) {
	common := w.commonPotential(f)
	for k := range w.channels {
		seen[k] = Seen{w.voltage(k, f, common), w.CTs[k].sees(f)}
	}
	return seen
}

func (w *Wiring) voltage(k int, f *Flow, common complex128) complex128 {
	if w.Inputs[k] == Nothing {
		return 0
	}
	v := f.Potential(w.Inputs[k]) - common
	if w.BackFed[k] != 0 {
		v *= complex(w.BackFed[k], 0)
	}
	return v
}

// commonPotential is that of the meter's neutral terminal. Where it hangs in
// the air, the equal impedances of the inputs hold it at their mean.
func (w *Wiring) commonPotential(f *Flow) complex128 {
	if w.Common != Nothing {
		return f.Potential(w.Common)
	}
	var sum complex128
	var n int
	for _, c := range w.Inputs[:w.channels] {
		if c != Nothing {
			sum += f.Potential(c)
			n++
		}
	}
	if n == 0 {
		return 0
	}
	return sum / complex(float64(n), 0)
}

func (c CT) sees(f *Flow) Current {
	switch {
	case c.Open || c.Shorted:
		return Current{}
	case c.Turned:
		return f.In(c.Round).times(-c.Ratio)
	}
	return f.In(c.Round).times(c.Ratio)
}

// TurnCT turns the CT of channel k, from 1, the other way round.
func (w *Wiring) TurnCT(k int) { w.CTs[k-1].Turned = !w.CTs[k-1].Turned }

// TurnCTs turns them all.
func (w *Wiring) TurnCTs() {
	for k := range w.channels {
		w.TurnCT(k + 1)
	}
}

// CrossCTs exchanges the conductors of the CTs of two channels; the way round
// stays with the channel.
func (w *Wiring) CrossCTs(j, k int) {
	a, b := &w.CTs[j-1].Round, &w.CTs[k-1].Round
	*a, *b = *b, *a
}

// RollCTs moves every CT to the conductor of the next channel's, the last to
// that of the first: 1 on B, 2 on C, 3 on A.
func (w *Wiring) RollCTs() {
	first := w.CTs[0].Round
	for k := range w.channels - 1 {
		w.CTs[k].Round = w.CTs[k+1].Round
	}
	w.CTs[w.channels-1].Round = first
}

// CrossInputs exchanges the leads of two voltage inputs.
func (w *Wiring) CrossInputs(j, k int) {
	w.Inputs[j-1], w.Inputs[k-1] = w.Inputs[k-1], w.Inputs[j-1]
}

// CrossNeutral exchanges the lead of a voltage input with that of the meter's
// neutral (or common) terminal.
func (w *Wiring) CrossNeutral(k int) {
	w.Inputs[k-1], w.Common = w.Common, w.Inputs[k-1]
}
