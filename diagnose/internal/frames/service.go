package frames

import (
	"cmp"
	"math"
	"math/cmplx"
	"slices"

	"legwork/diagnose/internal/prior"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// PlaceHighLeg finds, on a four-wire delta, the channel of the high leg: the one with which
// the voltages fit best, since its input may be the one that is dead or low. Conventions
// differ by country, so it is never assumed.
func PlaceHighLeg(r *reading.Reading, s wiring.Service) wiring.Service {
	if s.Kind != wiring.HighLegDelta {
		return s
	}
	best, most := s, math.Inf(-1)
	for k := range min(s.Channels(), len(r.Channels)) {
		s.HighLeg = wiring.Leg(k + 1)
		if log := soundFit(r, s); log > most {
			best, most = s, log
		}
	}
	return best
}

// Fitting is a service with how well the voltages, and the channels that are used,
// fit it: a log likelihood in nats, up to a constant.
type Fitting struct {
	Service wiring.Service
	Log     float64
}

// Fits lists every service that the reading's channels suffice for, the best first.
func Fits(r *reading.Reading) []Fitting {
	var all []Fitting
	for _, s := range wiring.Services() {
		if s.Channels() <= len(r.Channels) {
			s = PlaceHighLeg(r, s)
			all = append(all, Fitting{s, ServiceFit(r, s)})
		}
	}
	slices.SortStableFunc(all, func(a, b Fitting) int { return cmp.Compare(b.Log, a.Log) })
	return all
}

// nearlyAsWell is how much less well another service may fit and still be meant.
const nearlyAsWell = 1.0 // nats

// leastFit is how well the best service must fit the voltages, in nats, to be inferred. Our
// choice: one dead input and a low one do.
const leastFit = -12.0

// FittingServices lists the services that the voltages fit, the best first: the
// best one, and any other that fits nearly as well; ok is false where none fits.
func FittingServices(r *reading.Reading) (list []wiring.Service, ok bool) {
	var best float64
	for _, f := range Fits(r) {
		if !mayBe(r, f.Service, nil) {
			continue
		}
		if len(list) == 0 {
			best = f.Log
		}
		if f.Log > best-nearlyAsWell {
			list = append(list, f.Service)
		}
	}
	if len(list) == 0 {
		s, _ := wiring.ParseService("120/208Y")
		return append(list, s), false
	}
	return list, best >= leastFit
}

// A channel that a service has no use for has, as a rule, neither voltage nor
// current: log likelihoods, our choice.
const (
	anyVoltage    = -3.1 // of one that may be any, against one that is as the others are
	unusedVoltage = -4.0 + anyVoltage
	unusedCurrent = -6.0
	unusedAngle   = -4.3 // of a current with a voltage, which then may have any: ln(5/360), a cell's share of the circle
	weakInput     = -4.6 // an input of the service that is dead
	lowInput      = weakInput + anyVoltage
	unusedVolts   = 0.3 // of nominal
	unusedAmps    = 1.0 // A
)

// Unused is the log likelihood of the channels that a service has no use for.
func Unused(r *reading.Reading, s wiring.Service) (log float64) {
	for k := s.Channels(); k < len(r.Channels); k++ {
		c := &r.Channels[k]
		volts, amps := math.Abs(c.Voltage.Or(0)) > unusedVolts*s.Nominal, math.Abs(c.Current.Or(0)) > unusedAmps
		if volts {
			log += unusedVoltage
		}
		if amps {
			log += unusedCurrent
		}
		if volts && amps {
			log += unusedAngle
		}
	}
	return log
}

// mostFrames is the plain one, three with two inputs on one leg, one with all, three with the
// neutral crossed, and one with angles that say nothing.
const mostFrames = 9

// ServiceFit is the log likelihood of the voltages, whether the service's neutral holds
// or is lost.
func ServiceFit(r *reading.Reading, s wiring.Service) float64 {
	return math.Max(soundFit(r, s), adrift(r, s))
}

// soundFit is the same where the neutral holds: under the best way in which the inputs
// may sit, with a term for sizes off by a common factor, and of the channels that aren't
// used.
func soundFit(r *reading.Reading, s wiring.Service) float64 {
	v := voltagesOf(r, s)
	best := math.Inf(-1)
	var room [mostFrames]Frame
	for _, q := range s.Sequences() {
		plain := plainFrame(s, q)
		for _, f := range unmeasuredFrame(neutralFrames(sharedFrames(append(room[:0], plain), plain, &v), plain, &v), plain, &v) {
			best = math.Max(best, math.Log(f.Share*v.fit(&f)+1e-300)+v.offNominal(&f))
		}
	}
	return best + v.weak(s) + Unused(r, s)
}

// weak is the log likelihood of the inputs that are dead or low.
func (v *voltages) weak(s wiring.Service) (log float64) {
	for k := range v.n {
		switch {
		case v.dead(k):
			log += weakInput
		case v.low(k):
			log += lowInput
		}
	}
	if s.Kind == wiring.Delta { // an open common lead leaves half of the voltage on each
		half := 2 * weakInput
		for k := range v.n {
			half -= misfit(v.size[k].Or(0)-0.5, voltageSpread/2)
		}
		return math.Max(log, half)
	}
	return log
}

// offNominal ranks services whose misfit is beyond the cap of fit.
func (v *voltages) offNominal(f *Frame) float64 {
	var log float64
	for k := range v.n {
		want := cmplx.Abs(f.Input[k])
		if x, ok := v.size[k].Get(); ok && x > 0 && want > 0 && !v.dead(k) {
			log -= math.Abs(math.Log(x/want)) * 5
		}
	}
	return log
}

// Declared services. Our choice, no source.
const (
	misdeclaredNats  = 4.0  // below what a sound service has, from which on others are weighed
	misdeclaredShare = 0.01 // of services that are typed wrong
	rivalNats        = 12.0 // that a rival may fit less well than the best and still be weighed
)

// OfDeclared lists the frames of the declared service, and those of other services
// where the voltages or the channels in use don't fit it.
func OfDeclared(r *reading.Reading, declared wiring.Service, t *prior.Tables) (all []Frame) {
	fit := soundFit(r, declared)
	if fit >= -misdeclaredNats || neutralGone(r, declared) {
		return Of(r, declared, t)
	}
	fits := Fits(r)
	best := math.Max(fit, fits[0].Log)
	n := 0
	for _, f := range fits {
		if f.Service.Name != declared.Name && f.Log > best-rivalNats {
			n++
		}
	}
	weigh := func(s wiring.Service, log float64) {
		ways := Of(r, s, t)
		var most float64
		for i := range ways {
			most = math.Max(most, ways[i].Share)
		}
		for i := range ways {
			ways[i].Share *= math.Exp(log-best) / most
		}
		all = append(all, ways...)
	}
	weigh(declared, fit)
	for _, f := range fits {
		if f.Service.Name != declared.Name && f.Log > best-rivalNats {
			weigh(f.Service, f.Log+math.Log(misdeclaredShare/float64(n)))
		}
	}
	return all
}

// neutralGone reports voltages that a lost neutral of the declared service explains:
// danger comes before the question which service it is.
func neutralGone(r *reading.Reading, s wiring.Service) bool {
	near, ok := placeOf(s, voltsOf(r))
	return fartherLost(r, &s) > 0.5 || ok && cmplx.Abs(near.place) < nearestFar && priorNeutralLost*near.oddsOfPlace(s) > 1
}

// voltsOf gives the sizes of the voltages, V; zero for what isn't known.
func voltsOf(r *reading.Reading) (volts [3]float64) {
	for k := range min(len(r.Channels), len(volts)) {
		volts[k] = math.Abs(r.Channels[k].Voltage.Or(0))
	}
	return volts
}
