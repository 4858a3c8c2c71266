package evidence

import (
	"math"

	"legwork/probe/reading"
)

// Ties between the quantities of one reading, which hold however the meter is
// wired: they tell whether the register map reads the meter rightly.
//
// Each tie gives a log likelihood in nats, 0 where it holds and at most worstTie
// where it is broken; its spreads are our choice, no source, and wide enough for
// distortion, for registers of different instants and for coarse steps.

// Halving or doubling one changes the shares of right, wrong and undecided panels of
// TestSensitivity by a tenth of a point at most, but for leastWorking: doubled, it takes
// every distorted current for a wrong map (-0.2 -0.2 +8.0).
const (
	worstTie     = 12.0 // nats
	voltsNear    = 0.2  // of the logarithm, about a nominal voltage
	sizeSpread   = 0.1  // of the logarithm of a ratio that should be one
	leastWorking = 0.6  // P, Q over V I: distortion of 130 %
	mostWorking  = 1.04
	idleFactor   = 0.12 // a power factor below it, with no angle to show it
	idleNats     = 3.5  // for each channel that has one: what loads are
	totalSlack   = 0.05 // of the channels' powers
	allIdleNats  = 3.0  // where every channel has
	neutralNats  = -4.2 // for the one channel that may be distorted as a neutral is
	leastAmps    = 1.0  // A: below it ratios say nothing
	angleSpread  = 2.0  // degrees, of one angle against the difference of two
	leastSine    = 0.17 // of an angle, below which its sign says nothing
)

// nominals are voltages that a submeter's input may read, V (IEC 60038, Table 1, and
// the delta services of North America, common practice).
var nominals = [...]float64{120, 208, 230, 240, 277, 347, 400, 480, 600}

// Ties is the log likelihood of a reading's quantities if the map is right.
func Ties(r *reading.Reading) float64 { return tiesFrom(r, leastAmps) }

// tiesFrom looks at channels from so many amperes on.
func tiesFrom(r *reading.Reading, least float64) float64 {
	log := tieOfVolts(r)
	idle, worst := 0, 0.0
	for k := range r.Channels {
		c := &r.Channels[k]
		if c.Current.Or(0) < least {
			continue
		}
		distortion := tieOfDistortion(c)
		worst = math.Min(worst, distortion)
		log += tieOfPower(c) + distortion + tieOfAngles(c)
		if idles(c) {
			idle++
		}
	}
	if idle == len(r.Channels) {
		log -= allIdleNats
	}
	if len(r.Channels) > 1 && worst < neutralNats {
		log += neutralNats - worst // one may be round the neutral
	}
	return log + tieOfTotal(r)
}

// idles reports a channel with next to no power for its current, and no angle that
// says so too.
func idles(c *reading.Channel) bool {
	va := c.Voltage.Or(0) * c.Current.Or(0)
	p, ok := c.Power.Get()
	return ok && va > 0 && !shown(c) && math.Abs(p) < idleFactor*va
}

// broken is the log likelihood, in nats, of something off by z spreads: -z^2/2, that of a
// Gaussian beside its peak, and no less than -worstTie: a reading broken in one thing may
// be any.
func broken(spreads float64) float64 { return -math.Min(spreads*spreads/2, worstTie) }

// tieOfVolts wants one voltage at least near a nominal one.
func tieOfVolts(r *reading.Reading) float64 {
	known := false
	for k := range r.Channels {
		v, ok := r.Channels[k].Voltage.Get()
		if !ok || v < 1 {
			continue
		}
		known = true
		for _, nominal := range nominals {
			if math.Abs(math.Log(v/nominal)) < voltsNear {
				return 0
			}
		}
	}
	if !known {
		return 0
	}
	return -worstTie
}

// tieOfPower holds P and Q, or S, against V I: S = V I, |P| <= S, and of the fundamental
// P^2 + Q^2 = (V I1)^2 (IEEE Std 1459, from memory, of a voltage without distortion).
func tieOfPower(c *reading.Channel) (log float64) {
	v, okV := c.Voltage.Get()
	i, okI := c.Current.Get()
	if !okV || !okI || v <= 0 || i <= 0 {
		return 0
	}
	va := v * i
	if s, ok := c.Apparent.Get(); ok && s > 0 {
		log += broken(math.Log(s/va) / sizeSpread)
	}
	p, ok := c.Power.Get()
	if !ok {
		return log
	}
	factor := math.Abs(p) / va
	if factor > mostWorking+5/va { // 5 W: coarse steps
		return log + broken(math.Log(factor)/sizeSpread+3)
	}
	working, known := workingFactor(c, factor, va)
	switch {
	case known && working > mostWorking+5/va:
		return log + broken(math.Log(working)/sizeSpread+2)
	case idles(c):
		return log - idleNats
	}
	return log
}

// tieOfDistortion wants the fundamental to be most of a current.
func tieOfDistortion(c *reading.Channel) float64 {
	p, ok := c.Power.Get()
	va := c.Voltage.Or(0) * c.Current.Or(0)
	if !ok || va <= 0 {
		return 0
	}
	working, known := workingFactor(c, math.Abs(p)/va, va)
	if !known || working >= leastWorking {
		return 0
	}
	return broken(math.Log(leastWorking/math.Max(working, 1e-9)) / sizeSpread)
}

// shown reports an angle that doesn't rest on P.
func shown(c *reading.Channel) bool {
	_, ok := MeasuredAngle(*c)
	return ok || c.PowerFactor.Known()
}

// workingFactor is the share of V I that the fundamental carries, I1/I = 1/sqrt(1 + THD^2),
// by whichever of the angle, the power factor and Q is there:
//
//	|P| / (V I |cos phi1|)  or  sqrt(P^2 + Q^2) / (V I)
//
// 1 without distortion. Near cos phi1 = 0 the first says nothing; below a quarter, our choice.
func workingFactor(c *reading.Channel, factor, va float64) (share float64, known bool) {
	if theta, ok := MeasuredAngle(*c); ok && math.Abs(theta.Cos()) > 0.25 {
		return factor / math.Abs(theta.Cos()), true
	}
	if pf, ok := c.PowerFactor.Get(); ok && math.Abs(pf) > 0.25 {
		return factor / math.Abs(pf), true
	}
	if q, ok := c.Reactive.Get(); ok {
		return math.Hypot(factor, q/va), true
	}
	return 0, false
}

// tieOfAngles wants the signs of P and Q, and the difference of two angles, to be those of
// the angle between them: P = S cos theta, Q = S sin theta, theta = arg V - arg I.
func tieOfAngles(c *reading.Channel) (log float64) {
	theta, ok := c.Angle.Get()
	if !ok {
		return 0
	}
	if p, ok := c.Power.Get(); ok && math.Abs(theta.Cos()) > leastSine && p*theta.Cos() < 0 {
		log -= worstTie
	}
	if q, ok := c.Reactive.Get(); ok && !c.ReactiveUnsigned && math.Abs(theta.Sin()) > leastSine && q*theta.Sin() < 0 {
		log -= worstTie
	}
	v, okV := c.VoltageAngle.Get()
	i, okI := c.CurrentAngle.Get()
	if okV && okI {
		log += broken(v.Minus(i).Minus(theta).Abs() / angleSpread)
	}
	return log
}

// tieOfTotal holds the total power against the sum of the channels', P = sum P_k, within a
// share of sum |P_k|.
func tieOfTotal(r *reading.Reading) float64 {
	total, ok := r.TotalPower.Get()
	var sum, size float64
	for k := range r.Channels {
		p, okP := r.Channels[k].Power.Get()
		ok = ok && okP
		sum, size = sum+p, size+math.Abs(p)
	}
	if !ok || size < 100 {
		return 0
	}
	return broken((total - sum) / (totalSlack * size))
}
