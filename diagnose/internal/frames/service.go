package frames

import (
	"cmp"
	"math"
	"math/cmplx"
	"slices"

	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// PlaceHighLeg finds, on a four-wire delta, the channel whose voltage stands
// above the others; conventions differ by country, so it is never assumed.
func PlaceHighLeg(r *reading.Reading, s wiring.Service) wiring.Service {
	if s.Kind != wiring.HighLegDelta {
		return s
	}
	var most float64
	for k := range min(3, len(r.Channels)) {
		if v := r.Channels[k].Voltage.Or(0); v > most {
			most, s.HighLeg = v, wiring.Leg(k+1)
		}
	}
	return s
}

// FittingServices lists the services that the voltages fit, the best first: the
// best one, and any other that fits nearly as well.
func FittingServices(r *reading.Reading) []wiring.Service {
	type fitting struct {
		service wiring.Service
		log     float64
	}
	var all []fitting
	for _, s := range wiring.Services() {
		if s.Channels() != len(r.Channels) {
			continue
		}
		s = PlaceHighLeg(r, s)
		all = append(all, fitting{s, serviceFit(r, s)})
	}
	if len(all) == 0 {
		s, _ := wiring.ParseService("120/208Y")
		return []wiring.Service{s}
	}
	slices.SortStableFunc(all, func(a, b fitting) int { return cmp.Compare(b.log, a.log) })
	list := []wiring.Service{all[0].service}
	for _, f := range all[1:] {
		if f.log > all[0].log-1 {
			list = append(list, f.service)
		}
	}
	return list
}

// mostFrames is the plain one, three with two inputs on one leg, and three with
// the neutral crossed.
const mostFrames = 7

// serviceFit is the log likelihood of the voltages under the best way in
// which the inputs may sit, with a term for sizes off by a common factor.
func serviceFit(r *reading.Reading, s wiring.Service) float64 {
	v := voltagesOf(r, s)
	best := math.Inf(-1)
	var room [mostFrames]Frame
	for _, q := range s.Sequences() {
		plain := plainFrame(s, q)
		for _, f := range neutralFrames(sharedFrames(append(room[:0], plain), plain, &v), plain, &v) {
			best = math.Max(best, math.Log(f.Share*v.fit(&f)+1e-300)+v.offNominal(&f))
		}
	}
	return best
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

// Misdeclared names the service that the voltages fit, where every input is
// sound under it and the declared one is out of the question.
func Misdeclared(r *reading.Reading, declared wiring.Service) string {
	fit := serviceFit(r, declared)
	if fit >= -misdeclaredNats { // no service fits better than 0
		return ""
	}
	best := FittingServices(r)[0]
	if best.Name == declared.Name || best.Channels() != declared.Channels() {
		return ""
	}
	v := voltagesOf(r, best)
	for k := range v.n {
		x, ok := v.size[k].Get()
		if !ok || inputState(x/v.expected[k]) != wiring.InputLive {
			return ""
		}
	}
	if serviceFit(r, best) < fit+misdeclaredNats {
		return ""
	}
	return best.Name
}

// misdeclaredNats is how much better another service must fit. Our choice: all
// inputs off by nearly a third (see offNominal), or one misfit counted in full.
const misdeclaredNats = 6
