package evidence

import (
	"math"

	"legwork/probe/reading"
)

// Ties between the quantities of one reading, which hold however the meter is
// wired: they tell whether the register map reads the meter rightly.
//
// Each tie gives a log likelihood in nats, about 0 where it holds and at most worstTie
// below where it is broken; what V I carries gives a log density (shares.go). The spreads
// are our choice, no source, and wide enough for distortion, for registers of different
// instants and for coarse steps.

// Halving or doubling one changes the shares of right, wrong and undecided panels of
// TestSensitivity by a tenth of a point at most; from factorNear on that isn't measured.
const (
	worstTie     = 12.0 // nats
	voltsNear    = 0.2  // of the logarithm, about a nominal voltage
	sizeSpread   = 0.1  // of the logarithm of a ratio that should be one
	mostWorking  = 1.04 // P over V I
	idleFactor   = 0.12 // a power factor below it, with no angle to show it
	idleNats     = 3.5  // for each channel that has one: what loads are
	reactiveNats = 1.0  // of those, where a reactive power may be why
	totalSlack   = 0.05 // of the channels' powers
	allIdleNats  = 3.0  // where every channel has
	leastAmps    = 1.0  // A: below it ratios say nothing
	angleSpread  = 2.0  // degrees, of one angle against the difference of two
	leastSine    = 0.17 // of an angle, below which its sign says nothing
	factorNear   = 0.05 // of a power factor, against P over V I or the cosine
	noReactive   = 1e-3 // of P: a Q below it shows no angle
	noneNats     = 6.0  // for each channel that has none, and a power factor below leastFactor: an angle within 0.06 degrees
	leastFactor  = 0.97
	sameNats     = 7.0 // for two channels with one quantity the same to the last of four digits or more
)

// nominals are voltages that a submeter's input may read, V (IEC 60038, Table 1, and
// the delta services of North America, common practice).
var nominals = [...]float64{120, 208, 230, 240, 277, 347, 400, 480, 600}

// tied is the log likelihood of a reading's quantities if the map is right.
type tied struct {
	log   float64 // the sum of all ties
	worst float64 // the least of them, but for idle channels
	idle  float64 // of channels that have next to no power for their current
}

func (t *tied) add(log float64) {
	t.log += log
	t.worst = math.Min(t.worst, log)
}

// ties takes them by channels from so many amperes on.
func ties(r *reading.Reading, least float64) (t tied) {
	t.add(tieOfVolts(r))
	t.addShares(r, least)
	idle := 0
	for k := range r.Channels {
		c := &r.Channels[k]
		if c.Current.Or(0) < least {
			continue
		}
		t.add(tieOfPower(c))
		t.add(tieOfAngles(c))
		t.add(tieOfFactor(c))
		if idles(c) {
			idle++
			if t.idle -= idleNats; c.Reactive.Known() {
				t.idle += reactiveNats
			}
		}
	}
	if idle == len(r.Channels) {
		t.idle -= allIdleNats
	}
	t.log += t.idle
	t.add(tieOfReactive(r, least))
	t.add(tieOfRepeats(r, least))
	t.add(tieOfTotal(r))
	return t
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

// tieOfPower holds P, or S, against V I: S = V I, |P| <= S (IEEE Std 1459, from memory).
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
	if _, known := workingFactor(c, factor, va); !known && factor > mostWorking+5/va { // 5 W: coarse steps
		log += broken(math.Log(factor)/sizeSpread + 3)
	}
	return log
}

// shown reports an angle that doesn't rest on P.
func shown(c *reading.Channel) bool {
	_, ok := MeasuredAngle(*c)
	return ok || c.PowerFactor.Known()
}

// tieOfFactor wants a power factor to be P / V I, or the cosine of the fundamental's angle
// (IEEE Std 1459, from memory: of all of the current, and of the fundamental).
func tieOfFactor(c *reading.Channel) float64 {
	pf, ok := c.PowerFactor.Get()
	p, okP := c.Power.Get()
	va, okVA := apparent(c)
	if !ok || !okP || !okVA {
		return 0
	}
	cos := math.Abs(p) / va
	off := math.Abs(math.Abs(pf) - cos)
	if theta, ok := MeasuredAngle(*c); ok {
		cos = math.Abs(theta.Cos())
	} else if q, ok := c.Reactive.Get(); ok && (p != 0 || q != 0) {
		cos = math.Abs(p) / math.Hypot(p, q)
	}
	return broken(math.Min(off, math.Abs(math.Abs(pf)-cos)) / factorNear)
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

// tieOfReactive wants a reactive power that is there: distortion alone lowers P / V I now and then,
// and not on all channels without any angle. Registers of whole hundreds say nothing.
func tieOfReactive(r *reading.Reading, least float64) float64 {
	none := 0.0
	for k := range r.Channels {
		c := &r.Channels[k]
		q, ok := c.Reactive.Get()
		p, okP := c.Power.Get()
		va, okVA := apparent(c)
		if !ok || !okP || !okVA || c.Current.Or(0) < least {
			continue
		}
		if math.Abs(q) > noReactive*math.Abs(p) || !fine(p) {
			return 0
		}
		if math.Abs(p) < leastFactor*va {
			none++
		}
	}
	return -noneNats * none
}

// tieOfRepeats wants channels that differ to differ in current and in power.
func tieOfRepeats(r *reading.Reading, least float64) (log float64) {
	for k := range r.Channels {
		for o := range k {
			a, b := &r.Channels[k], &r.Channels[o]
			if math.Min(a.Current.Or(0), b.Current.Or(0)) < least || !a.Power.Known() || !b.Power.Known() {
				continue
			}
			if carries(a) && carries(b) {
				continue // one current through both, as where a neutral is lost
			}
			apart := differ(a.Current, b.Current) || differ(a.Power, b.Power)
			if apart && (repeats(a.Current, b.Current) || repeats(a.Power, b.Power) || repeats(a.Reactive, b.Reactive)) {
				log -= sameNats
			}
		}
	}
	return log
}

// carries reports a channel whose P, Q, V and I fit each other.
func carries(c *reading.Channel) bool {
	va := c.Voltage.Or(0) * c.Current.Or(0)
	w, known := workingFactor(c, math.Abs(c.Power.Or(0))/va, va)
	return known && math.Abs(w-1) < totalSlack
}

// repeats reports two quantities that are one to the last of many digits.
func repeats(a, b reading.Value) bool { return a.Known() && a == b && fine(a.Or(0)) }

// differ reports two quantities that are clearly not one.
func differ(a, b reading.Value) bool {
	return math.Abs(a.Or(0)-b.Or(0)) > totalSlack*math.Max(math.Abs(a.Or(0)), math.Abs(b.Or(0)))
}

// fine reports a number of four digits or more that aren't rounded off.
func fine(x float64) bool {
	if x == 0 {
		return false
	}
	step := math.Pow(10, math.Floor(math.Log10(math.Abs(x)))-2)
	_, frac := math.Modf(math.Abs(x)/step + 1e-9)
	return frac > 1e-6
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
