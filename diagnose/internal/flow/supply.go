package flow

import (
	"math"
	"math/cmplx"

	"legwork/diagnose/wiring"
)

// Supply is where the voltage inputs of a service sit.
type Supply struct {
	Service  wiring.Service
	Sequence wiring.Sequence
	State    [3]wiring.InputState
	Severe   [3]bool // so far off that the input's own voltage says nothing of its leg's
}

// Source is where a voltage that an input should read is taken from.
type Source uint8

// The sources.
const (
	FromRead    Source = iota // the input's own, or that of the inputs exchanged with the neutral
	FromOthers                // the other inputs, by the service's phasors
	FromNominal               // the service's nominal voltage: no input tells
)

// Inputs are what the inputs read as they sit, per unit of nominal: with the neutral
// exchanged with leg a, V_a = -E_a and V_k = E_k - E_a; a shared one reads what the
// lowest input on its conductor does.
func (s *Supply) Inputs() [3]complex128 {
	in := s.Service.InputPhasors(s.Sequence)
	if a, ok := s.exchanged(); ok {
		e := in[a]
		for k := range in {
			in[k] -= e
		}
		in[a] = -e
	}
	return in
}

// Home gives the voltages, V, that the inputs should read, from those that they do
// read, phasors from any one direction. With the neutral exchanged with leg a,
//
//	E_a = -V_a,  E_k = V_k - V_a
//
// An input that is dead, low or on another's conductor should read what the sound
// ones do, by the service's phasors: E_k = in_k mean(V_j / in_j).
func (s *Supply) Home(read [3]complex128) (home [3]complex128, from [3]Source) {
	n := s.Service.Channels()
	if a, ok := s.exchanged(); ok {
		for k := range n {
			home[k] = read[k] - read[a]
		}
		home[a] = -read[a]
		return home, from
	}
	in := s.Service.InputPhasors(s.Sequence)
	var sum complex128
	var sound float64
	for k := range n {
		if s.sound(k) && read[k] != 0 {
			sum += read[k] / in[k]
			sound++
		}
	}
	rest, source := complex(s.Service.Nominal, 0), FromNominal
	if sound > 0 {
		rest, source = sum/complex(sound, 0), FromOthers
	}
	for k := range n {
		home[k] = read[k]
		if !s.sound(k) || read[k] == 0 {
			home[k], from[k] = in[k]*rest, source
		}
	}
	return home, from
}

// exchanged is the input, from 0, that is exchanged with the neutral.
func (s *Supply) exchanged() (a int, ok bool) {
	for k := range s.Service.Channels() {
		if s.State[k] == wiring.InputNeutralCrossed {
			return k, true
		}
	}
	return 0, false
}

// sound reports an input that reads what its leg has.
func (s *Supply) sound(k int) bool {
	switch s.State[k] {
	case wiring.InputDead, wiring.InputShared:
		return false
	}
	return !s.Severe[k]
}

// Through is the complex power, VA, that a current in one leg carries, the current
// in the leg's own direction: sum over the inputs of E_j (J share_j)*. On a
// three-wire delta the leg without a CT carries the others' currents back.
func (s *Supply) Through(home [3]complex128, current complex128, leg int, measured [3]bool) (power complex128) {
	for j := range s.Service.Channels() {
		at := int(s.Service.HomeLeg(wiring.Channel(j+1))) - 1
		switch {
		case at == leg:
			power += home[j] * cmplx.Conj(current)
		case s.Service.Kind == wiring.Delta && !measured[at]:
			power -= home[j] * cmplx.Conj(current)
		}
	}
	return power
}

// Slack is what a voltage that wasn't read may be off by, one standard deviation, in size
// as a share and in angle in degrees. The other inputs': unbalance of an ordinary
// service, our choice, set by the coverage that the tests print. Nominal: half of
// the 10 % that IEC 60038 allows.
func (f Source) Slack() (size, degrees float64) {
	switch f {
	case FromOthers:
		return 0.009, 0.6
	case FromNominal:
		return 0.05, 2
	}
	return 0, 0
}

// spread is one standard deviation of a channel's true power for such a voltage, W.
func (f Source) spread(power complex128) float64 {
	size, degrees := f.Slack()
	return math.Hypot(real(power)*size, imag(power)*degrees*math.Pi/180)
}
