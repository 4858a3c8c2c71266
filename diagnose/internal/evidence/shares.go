package evidence

import (
	"math"

	"legwork/diagnose/internal/gaussian"
	"legwork/probe/reading"
)

// How much of V I the fundamental carries, w = I1/I = 1/sqrt(1 + THD^2), says whether P, Q, V and I
// are on one scale. Over u = -ln w:
//
//	p(u) = sineShare N(0, s) + (1 - sineShare) exp(-u/d)/d + what was read at another instant, or in a neutral
//
// for each channel by itself, or of all channels alike where one sort of load is on all. A distorted
// current may have any w; that a factor of a map makes every channel's w one is hardly chance.
//
// The spreads and shares are our choice, no source; a current of single-phase rectifiers has a THD of 100 %
// or so (common practice, no source), where the second term is a tenth of what it is without.
const (
	sineShare      = 0.6
	sineSpread     = 0.012 // of u: the errors of V, I, P and Q
	sineWatts      = 3     // W, over V I: coarse steps
	distortedBy    = 0.2   // mean u of a distorted current
	movedShare     = 0.05  // of channels, read while their load moved
	movedBy        = 0.05  // mean u of those, either way
	neutralDensity = 0.02  // of a CT round a neutral, at any u: prior times an even density to 2.5
	alikeShare     = 0.15  // of panels, distorted alike on all channels
	alikeSpread    = 0.025 // of u, among those
	leastDensity   = 6e-6  // what is beyond all that
)

// addShares adds the log density of what each channel's fundamental carries, as far as it is known.
func (t *tied) addShares(r *reading.Reading, least float64) {
	var u [reading.MaxChannels]float64
	n, each, mean, worst := 0, 1.0, 0.0, 1.0
	for k := range r.Channels {
		c := &r.Channels[k]
		if c.Current.Or(0) < least {
			continue
		}
		va := c.Voltage.Or(0) * c.Current.Or(0)
		p, ok := c.Power.Get()
		if !ok || va <= 0 {
			continue
		}
		w, known := workingFactor(c, math.Abs(p)/va, va)
		if !known {
			continue
		}
		u[n] = -math.Log(min(max(w, 1e-9), 1e9))
		one := shareDensity(u[n], sineSpread+sineWatts/va)
		each, worst = each*one, math.Min(worst, one)
		mean += u[n]
		n++
	}
	if n > 0 {
		t.log += math.Log((1-alikeShare)*each + alikeShare*alikeDensity(u[:n], mean/float64(n)))
		t.worst = math.Min(t.worst, math.Log(worst))
	}
}

// shareDensity is that of one channel.
func shareDensity(u, spread float64) float64 {
	p := sineShare*gaussian.Line(u, spread) + movedShare*math.Exp(-math.Abs(u)/movedBy)/(2*movedBy) + leastDensity
	if u > 0 {
		p += (1-sineShare)*math.Exp(-u/distortedBy)/distortedBy + neutralDensity
	}
	return p
}

// alikeDensity is that of channels which are distorted alike.
func alikeDensity(u []float64, mean float64) float64 {
	if mean < 0 {
		return 0
	}
	p := math.Exp(-mean/distortedBy) / distortedBy * alikeSpread * math.Sqrt(2*math.Pi/float64(len(u)))
	for _, x := range u {
		p *= gaussian.Line(x-mean, alikeSpread)
	}
	return p
}

// workingFactor is w by whichever of the angle, the power factor and Q is there:
//
//	|P| / (V I |cos phi1|)  or  sqrt(P^2 + Q^2) / (V I)
//
// 1 without distortion. Near cos phi1 = 0 the first says nothing; below a quarter, our choice.
func workingFactor(c *reading.Channel, factor, va float64) (share float64, known bool) {
	if theta, ok := MeasuredAngle(*c); ok && math.Abs(theta.Cos()) > 0.25 {
		return factor / math.Abs(theta.Cos()), true
	}
	if q, ok := c.Reactive.Get(); ok {
		return math.Hypot(factor, q/va), true
	}
	if pf, ok := c.PowerFactor.Get(); ok && math.Abs(pf) > 0.25 {
		return factor / math.Abs(pf), true
	}
	return 0, false
}
