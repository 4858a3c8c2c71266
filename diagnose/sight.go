package diagnose

import (
	"math"

	"legwork/probe/reading"
)

// candidate is one angle that a channel's current may have behind its
// voltage, in degrees, with its share among the candidates.
type candidate struct {
	theta float64
	share float64
}

// sight is what one channel shows: which angles remain possible.
type sight struct {
	candidates [8]candidate
	n          int
	volts      float64 // V; 0 where not known
	voltsAt    reading.Maybe[reading.Angle]
	amps       float64 // A in the primary
	working    float64 // A of the fundamental, which carries the power; amps where it isn't known
	watts      reading.Value
	ampsKnown  bool
	loaded     bool // enough current to be judged
	positive   bool // its angle rests on a reactive power above zero, the sign of which may be none
}

func (s *sight) add(theta, share float64) {
	if share <= 0 || s.n == len(s.candidates) {
		return
	}
	s.candidates[s.n] = candidate{float64(reading.Degrees(theta)), share}
	s.n++
}

// list is the candidates, their shares summing to one.
func (s *sight) list() []candidate { return s.candidates[:s.n] }

// view says how a reading's quantities may be taken.
type view struct {
	minCurrent float64 // A
}

// see derives the candidates from whatever the channel gives: its angle; P
// and Q; angles of V and I; a signed power factor; or V, I and P alone.
func (v view) see(c reading.Channel) sight {
	s := sight{watts: c.Power, voltsAt: c.VoltageAngle}
	s.volts, s.amps = math.Abs(c.Voltage.Or(0)), math.Abs(c.Current.Or(0))
	s.ampsKnown = c.Current.Known()
	s.loaded = s.amps >= v.minCurrent
	s.working = workingCurrent(c, s.amps)
	if !s.loaded {
		return s
	}
	if theta, ok := measuredAngle(c); ok {
		s.add(float64(theta), 1)
		return s
	}
	p, haveP := c.Power.Get()
	if q, ok := c.Reactive.Get(); ok && haveP && (p != 0 || q != 0) {
		s.seeReactive(p, q, c.ReactiveUnsigned)
		return s
	}
	if size, ok := powerFactorSize(c); ok {
		seePowerFactor(&s, c, size)
	}
	if s.n == 0 {
		s.loaded = false
	}
	return s
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
	} else if theta, ok := measuredAngle(c); ok && math.Abs(theta.Cos()) > 0.3 {
		working = math.Abs(p / (v * theta.Cos()))
	}
	if working < amps/2 || working > amps*1.02 {
		return amps // they disagree by more than distortion would
	}
	return working
}

// measuredAngle is the angle as the meter gives it, directly or as the
// difference of two.
func measuredAngle(c reading.Channel) (reading.Angle, bool) {
	if a, ok := c.Angle.Get(); ok {
		return a, true
	}
	v, okV := c.VoltageAngle.Get()
	i, okI := c.CurrentAngle.Get()
	return v.Minus(i), okV && okI
}

// seeReactive takes the angle from P and Q. A Q above zero may be one without a
// sign (see register.go).
func (s *sight) seeReactive(p, q float64, unsigned bool) {
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

// seePowerFactor adds what P / VI leaves open. Distortion pulls it towards
// zero, so the angle of the fundamental lies between acos and the real axis,
// on the side that the sign of P tells: acos is an upper bound of the angle's
// size for P > 0 and a lower bound for P < 0.
func seePowerFactor(s *sight, c reading.Channel, size float64) {
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
