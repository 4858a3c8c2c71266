package evidence

import (
	"math"
	"math/cmplx"
	"slices"

	"legwork/probe/reading"
)

// Candidate is one angle that a channel's current may have behind its
// voltage, in degrees, with its share among the candidates.
type Candidate struct {
	Theta float64
	Share float64
}

// Observation is what one channel shows: which angles remain possible.
type Observation struct {
	Candidates [8]Candidate
	N          int
	Current
	VoltsAt   reading.Maybe[reading.Angle]
	Working   float64 // A of the fundamental, which carries the power; amps where it isn't known
	Watts     reading.Value
	MeanWatts reading.Value // of a state; Watts is what was read last
	AmpsKnown bool
	SizeOnly  bool // the current's angle is left open (see Single)
	Loaded    bool // enough current to be judged
	positive  bool // its angle rests on a reactive power above zero, the sign of which may be none
	cosine    bool // its angle is the arc cosine of P / V I
}

func (s *Observation) add(theta, share float64) {
	if share <= 0 || s.N == len(s.Candidates) {
		return
	}
	s.Candidates[s.N] = Candidate{float64(reading.Degrees(theta)), share}
	s.N++
}

// List is the candidates, their shares summing to one.
func (s *Observation) List() []Candidate { return s.Candidates[:s.N] }

// Limits says how a reading's quantities may be taken.
type Limits struct {
	MinCurrent float64 // A
}

// Observe derives the candidates from whatever the channel gives: its angle; P
// and Q; angles of V and I; a signed power factor; or V, I and P alone.
func (v Limits) Observe(c reading.Channel) Observation {
	s := Observation{Watts: c.Power, MeanWatts: c.Power, VoltsAt: c.VoltageAngle}
	s.Volts, s.Amps = math.Abs(c.Voltage.Or(0)), math.Abs(c.Current.Or(0))
	s.AmpsKnown = c.Current.Known()
	s.Loaded = s.Amps >= v.MinCurrent
	s.Working = workingCurrent(c, s.Amps)
	if !s.Loaded {
		return s
	}
	if theta, ok := MeasuredAngle(c); ok {
		s.add(float64(theta), 1)
		return s
	}
	p, haveP := c.Power.Get()
	if q, ok := c.Reactive.Get(); ok && haveP && (p != 0 || q != 0) {
		s.fromReactive(p, q, c.ReactiveUnsigned)
		return s
	}
	if size, ok := powerFactorSize(c); ok {
		fromPowerFactor(&s, c, size)
	}
	if s.N == 0 {
		s.Loaded = false
	}
	return s
}

// Single is the observation with one angle, or none: where several are possible
// only the size of the current counts.
func (s Observation) Single() Observation {
	if s.N != 1 {
		s.N, s.SizeOnly = 0, true
	}
	return s
}

// Phasor is the current as seen from the channel's own voltage, A: a lag lies below
// the real axis. It isn't known where the angle isn't, unless no current flows.
func (s *Observation) Phasor() (z complex128, known bool) {
	if s.N == 1 {
		return cmplx.Rect(s.Amps, -s.Candidates[0].Theta*math.Pi/180), true
	}
	return 0, s.AmpsKnown && s.Amps < leastNoise
}

// workingCurrent is the fundamental of a current. A meter's current is the rms
// of all of it, and harmonics carry hardly any power where the voltage is sound.
func workingCurrent(c reading.Channel, amps float64) float64 {
	v, okV := c.Voltage.Get()
	p, okP := c.Power.Get()
	if !okV || !okP || v <= 0 {
		return amps
	}
	working := amps
	if q, ok := c.Reactive.Get(); ok && !c.ReactiveUnsigned {
		working = math.Hypot(p, q) / v
	} else if theta, ok := MeasuredAngle(c); ok && math.Abs(theta.Cos()) > 0.3 {
		working = math.Abs(p / (v * theta.Cos()))
	}
	if working < leastFundamental*amps || working > amps*1.02 {
		return amps // they disagree by more than distortion would
	}
	return working
}

// leastFundamental is the share of a current that its fundamental has at least, in the
// neutral too, where what legs have in common adds up and the rest cancels: our choice.
const leastFundamental = 0.08

// Harmonics is what of a current isn't its fundamental, A; known where the fundamental is.
//
//	I^2 = I_1^2 + I_h^2
func (s *Observation) Harmonics() (amps float64, known bool) {
	return math.Sqrt(math.Max(0, s.Amps*s.Amps-s.Working*s.Working)), s.Working != s.Amps
}

// MeasuredAngle is the angle as the meter gives it, directly or as the
// difference of two.
func MeasuredAngle(c reading.Channel) (reading.Angle, bool) {
	if a, ok := c.Angle.Get(); ok {
		return a, true
	}
	v, okV := c.VoltageAngle.Get()
	i, okI := c.CurrentAngle.Get()
	return v.Minus(i), okV && okI
}

// fromReactive takes the angle from P and Q. A Q above zero may be one without a
// sign (see register.go).
func (s *Observation) fromReactive(p, q float64, unsigned bool) {
	theta := math.Atan2(q, p) * 180 / math.Pi
	if unsigned {
		s.add(theta, 0.5)
		s.add(-theta, 0.5)
		return
	}
	s.add(theta, 1)
	s.positive = q > 0
}

// powerFactorSize is the size of P / VI, at most 1, from whichever pair of
// quantities gives it.
func powerFactorSize(c reading.Channel) (float64, bool) {
	if pf, ok := c.PowerFactor.Get(); ok {
		return math.Min(1, math.Abs(pf)), true
	}
	p, ok := c.Power.Get()
	if !ok {
		return 0, false
	}
	if s, ok := c.Apparent.Get(); ok && s > 0 {
		return math.Min(1, math.Abs(p)/s), true
	}
	v, okV := c.Voltage.Get()
	i, okI := c.Current.Get()
	if s := math.Abs(v * i); okV && okI && s > 0 {
		return math.Min(1, math.Abs(p)/s), true
	}
	return 0, false
}

// fromPowerFactor adds what P / VI leaves open. Distortion pulls it towards
// zero, so the angle of the fundamental lies between acos and the real axis,
// on the side that the sign of P tells: acos is an upper bound of the angle's
// size for P > 0 and a lower bound for P < 0.
func fromPowerFactor(s *Observation, c reading.Channel, size float64) {
	s.cosine = true
	forward, backward := halfPlanes(c)
	lag, lead := lagShares(c)
	for _, d := range [...]struct{ gain, share float64 }{{1, 0.7}, {1.07, 0.3}} {
		size := size * d.gain
		if size > 1 {
			size = math.Sqrt(size) / d.gain // already near the axis
			size = math.Min(size, 1)
		}
		a := math.Acos(size) * 180 / math.Pi
		s.add(a, forward*d.share*lag)
		s.add(-a, forward*d.share*lead)
		s.add(180-a, backward*d.share*lead) // P < 0 and leading: Q > 0
		s.add(a-180, backward*d.share*lag)
	}
}

// halfPlanes are the shares of P > 0 and P < 0.
func halfPlanes(c reading.Channel) (forward, backward float64) {
	sign := c.Power
	if c.PowerFactorSign == reading.SignTellsPower && c.PowerFactor.Known() {
		sign = c.PowerFactor
	}
	p, ok := sign.Get()
	switch {
	case !ok || p == 0:
		return 0.5, 0.5
	case p > 0:
		return 1, 0
	}
	return 0, 1
}

// lagShares are the shares of lagging (Q P > 0) and leading.
func lagShares(c reading.Channel) (lag, lead float64) {
	pf, ok := c.PowerFactor.Get()
	if !ok || c.PowerFactorSign != reading.SignTellsLagging || pf == 0 {
		return 0.5, 0.5
	}
	if pf > 0 {
		return 1, 0
	}
	return 0, 1
}

// HasSign reports a candidate with the sign of the first, or with the other one; where
// there is one candidate alone it has either.
func (s *Observation) HasSign(c Candidate, other bool) bool {
	return s.N <= 1 || ((c.Theta < 0) != (s.Candidates[0].Theta < 0)) == other
}

// TurnedAlike reports candidates of which each has its equal half a turn away: a CT
// turned round would read the same.
func (s *Observation) TurnedAlike() bool {
	for _, c := range s.List() {
		if !slices.ContainsFunc(s.List(), func(o Candidate) bool {
			return math.Abs(math.Abs(o.Theta-c.Theta)-180) < 1e-6 && math.Abs(o.Share-c.Share) < 1e-9
		}) {
			return false
		}
	}
	return true
}
