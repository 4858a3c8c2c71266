package sim

import "math/cmplx"

// Truth is what is really there at one instant, in the simulator's own words.
// Arrays hold channel 1 first.
type Truth struct {
	Service  string
	Sequence Sequence
	HighLeg  Conductor // of a four-wire delta, else Nothing
	Channels int

	Inputs      [3]Conductor // on which each voltage input is landed
	Common      Conductor    // on which the meter's neutral (or common) is landed
	Round       [3]Conductor // round which each CT sits
	Turned      [3]bool      // which CTs are the wrong way round
	Dead        [3]bool      // which CTs read nothing: open, shorted, round nothing
	Ratio       [3]float64   // what each CT reads over what flows
	NeutralLost bool         // the service's
	// Pair is, for each CT, the number of the voltage input whose conductor it
	// sits on, 0 for none of the legs; Wiring.pairs has the odd cases.
	Pair [3]int

	Legs    []LegTruth // leg A first
	Power   float64    // W that all legs take together
	Neutral float64    // A rms in the neutral
	// Registered is what an errorless meter registers on all channels together
	// in W, wired as it is.
	Registered float64
}

// LegTruth says what a leg carries.
type LegTruth struct {
	Voltage  float64 // V against the neutral, or the star point
	Current  float64 // A rms, harmonics included
	Power    float64 // W
	Reactive float64 // var of the fundamental, positive for lagging
	Lag      float64 // degrees by which the fundamental lags the leg's voltage
}

func truthOf(u *Supply, w *Wiring, f *Flow) Truth {
	t := Truth{Service: u.Service.Name, Sequence: u.Sequence, HighLeg: u.HighLeg, Channels: w.channels,
		Inputs: w.Inputs, Common: w.Common, NeutralLost: w.NeutralLost}
	t.tellCTs(u, w)
	for i := range u.Service.Legs() {
		t.Legs = append(t.Legs, legTruth(leg(i), f))
	}
	for _, s := range w.See(f) {
		watts, _ := s.power()
		t.Registered += watts
	}
	t.Power, t.Neutral = real(f.Total()), f.In(Neutral).RMS()
	return t
}

func (t *Truth) tellCTs(u *Supply, w *Wiring) {
	pairs := w.pairs(u.Service)
	for k, ct := range w.CTs[:w.channels] {
		t.Round[k], t.Turned[k], t.Ratio[k], t.Pair[k] = ct.Round, ct.Turned, ct.Ratio, pairs[ct.Round]
		t.Dead[k] = ct.Open || ct.Shorted || ct.Round == Nothing
	}
}

func legTruth(c Conductor, f *Flow) LegTruth {
	s := f.Power(c)
	t := LegTruth{Voltage: cmplx.Abs(f.Potential(c) - f.Neutral), Current: f.In(c).RMS(), Power: real(s), Reactive: imag(s)}
	if s != 0 {
		t.Lag = degrees(s)
	}
	return t
}

// pairs numbers the conductors by the voltage inputs that are landed on them;
// of inputs that share one the lowest counts. A leg without an input takes the
// number of its own channel where that is free, else one that is left over. On
// a three-wire delta input 1 makes its conductor 1, the common terminal 2, and
// input 2 makes it 3.
func (w *Wiring) pairs(s Service) [conductors]int {
	var pair [conductors]int
	var taken [4]bool
	claim := func(c Conductor, number int) {
		if c.isLeg() && pair[c] == 0 && !taken[number] {
			pair[c], taken[number] = number, true
		}
	}
	for k, c := range w.Inputs[:w.channels] {
		claim(c, s.home(k).index()+1)
	}
	if !s.HasNeutral() {
		claim(w.Common, 2)
	}
	for i := range s.Legs() {
		claim(leg(i), i+1)
	}
	for i := range s.Legs() {
		for number := 1; number <= s.Legs(); number++ {
			claim(leg(i), number)
		}
	}
	return pair
}
