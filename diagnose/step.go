package diagnose

import (
	"math"
	"math/cmplx"
)

// The likelihood of a change of load under an arrangement: one leg's load, one
// between two legs (their currents equal and opposite), a three-phase one, or
// anything. The shares are assumptions of ours, no source.
const (
	stepOneLeg   = 0.56
	stepTwoLegs  = 0.2
	stepThree    = 0.21
	stepTwoLoads = 0.02 // on two legs at once
	stepAnything = 0.01

	stepOn = 0.55 // a load is a little likelier to be seen coming on than going off

	// sizes of a step are taken to be as likely in every octave from 0.1 A to
	// 1000 A: 1 / ln(10^4) per unit of the logarithm.
	stepSizeDensity = 1 / 9.21

	// oddLoad is the share of single loads at any angle at all: an odd one must
	// not mislead.
	oddLoad = 0.2

	// signlessNoise is the share of the reactive current that may be distortion,
	// where it was derived from V, I and P alone.
	signlessNoise = 0.1

	signStays = 0.9 // the sign of an angle from one state to the next
)

// walker weighs the changes of one history under one frame.
type walker struct {
	scene *scene
	kinds []float32 // density of a single load's own angle, per cell
	three []float32
	turn  [3]complex128    // phasor of each leg's voltage, of size 1
	star  [3]complex128    // phasor from the star point to each leg, of size 1
	line  [3][3]complex128 // phasor from leg to leg, of size 1

	// place turns a channel's phasor at a digit into the leg's own, absolute.
	place [3][digits]complex128
}

func newWalker(sc *scene) *walker {
	w := &walker{scene: sc, kinds: sc.density.kinds, three: sc.density.three}
	e := sc.frame.leg
	legs := sc.frame.service.Legs()
	var middle complex128
	for m := range legs {
		middle += e[m] / complex(float64(legs), 0)
	}
	unit := func(z complex128) complex128 {
		if z == 0 {
			return 1
		}
		return z / complex(cmplx.Abs(z), 0)
	}
	for m := range legs {
		w.turn[m], w.star[m] = unit(e[m]), unit(e[m]-middle)
		for n := range legs {
			w.line[m][n] = unit(e[m] - e[n])
		}
	}
	for k := range 3 {
		if sc.judged>>k&1 == 0 {
			continue
		}
		for d := range 2 * legs {
			w.place[k][d] = cmplx.Rect(1, sc.offset(k, d)*math.Pi/180) * w.turn[d/2]
		}
	}
	return w
}

// legChange is the change of one leg's current, absolute, with its noise.
type legChange struct {
	known bool
	amps  complex128 // from the phasor of leg 1
	noise float64
}

// score is the sum of log likelihoods of all fresh changes under arrangement a.
// Where an angle has two signs, they are a hidden state that is summed out.
func (w *walker) score(h *history, a *arranged) float64 {
	var alpha [8]float64
	signs := 1
	for k := range h.states[0].sights {
		for i := range h.states {
			if h.states[i].zs[k] == 2 {
				signs = 8
			}
		}
	}
	for c := range signs {
		alpha[c] = 1 / float64(signs)
	}
	var log float64
	for i := 1; i < len(h.states); i++ {
		if h.states[i].repeats && signs == 1 {
			continue
		}
		alpha = w.advance(&h.states[i-1], &h.states[i], a, alpha, signs)
		var sum float64
		for _, p := range alpha {
			sum += p
		}
		if sum <= 0 {
			return math.Inf(-1)
		}
		log += math.Log(sum)
		for c := range alpha {
			alpha[c] /= sum
		}
	}
	return log
}

// advance carries the weights of the sign vectors over one change.
func (w *walker) advance(from, to *state, a *arranged, alpha [8]float64, signs int) [8]float64 {
	var next [8]float64
	for after := range signs {
		for before := range signs {
			p := alpha[before]
			if p < 1e-9 {
				continue
			}
			if signs > 1 {
				for k := range 3 {
					if before>>k&1 == after>>k&1 {
						p *= signStays
					} else {
						p *= 1 - signStays
					}
				}
			}
			if !to.repeats {
				p *= w.likelihood(from, to, a, before, after)
			}
			next[after] += p
		}
	}
	return next
}

// likelihood is the density of one change for given signs.
func (w *walker) likelihood(from, to *state, a *arranged, before, after int) float64 {
	var legs [3]legChange
	p := 1.0
	for k, d := range a.digit {
		if d < 0 {
			continue
		}
		c := channelChange(from, to, k, before>>k&1, after>>k&1)
		c.amps *= w.place[k][d]
		leg := &legs[d/2]
		if leg.known { // two CTs on one conductor change alike
			p *= bell2(c.amps-leg.amps, math.Hypot(c.noise, leg.noise))
			continue
		}
		*leg = c
	}
	return p * w.mixture(&legs)
}

// channelChange is the change that channel k saw, as seen from its own voltage.
// A change of the voltage moves the current of whatever is on by about as much.
func channelChange(from, to *state, k, signBefore, signAfter int) legChange {
	a, b := &from.sights[k], &to.sights[k]
	noise := math.Hypot(a.noise(), b.noise())
	if from.zs[k] > 1 || to.zs[k] > 1 {
		noise += signlessNoise * math.Max(math.Abs(imag(from.z[k][0])), math.Abs(imag(to.z[k][0])))
	}
	if a.volts > 0 && b.volts > 0 {
		noise += a.amps * math.Abs(b.volts/a.volts-1)
	}
	return legChange{true, to.z[k][min(signAfter, to.zs[k]-1)] - from.z[k][min(signBefore, from.zs[k]-1)], noise}
}

// mixture is the density of the legs' changes together.
func (w *walker) mixture(legs *[3]legChange) float64 {
	n := 0
	for m := range legs {
		if legs[m].known {
			n++
		}
	}
	var p float64
	anything := stepAnything
	for m := range legs {
		if !legs[m].known {
			continue
		}
		if still := w.still(legs, m, -1); still > 0 {
			p += stepOneLeg / float64(n) * w.load(w.kinds, legs[m], w.turn[m]) * still
		}
		anything *= strayDensity(legs[m])
		for o := range m {
			if legs[o].known {
				p += w.twoLegs(legs, m, o)
			}
		}
	}
	if n > 1 {
		p += w.unseenPartner(legs, n)
	}
	if n > 1 && w.scene.frame.service.Legs() == 3 {
		p += stepThree * w.alike(legs)
	}
	return p + anything
}

// twoLegs is one load between two legs, or a load on each of them at once.
func (w *walker) twoLegs(legs *[3]legChange, m, o int) float64 {
	still := w.still(legs, m, o)
	if still == 0 {
		return 0
	}
	var p float64
	if match := bell2(legs[m].amps+legs[o].amps, math.Hypot(legs[m].noise, legs[o].noise)); match > 0 {
		p = stepTwoLegs / 3 * w.load(w.kinds, legs[m], w.line[m][o]) * match
	}
	return still * (p + stepTwoLoads/3*w.load(w.kinds, legs[m], w.turn[m])*w.load(w.kinds, legs[o], w.turn[o]))
}

// unseenPartner is a load between a measured leg and one that isn't.
func (w *walker) unseenPartner(legs *[3]legChange, n int) float64 {
	if n == w.scene.frame.service.Legs() {
		return 0
	}
	var p float64
	for m := range legs {
		for o := range w.scene.frame.service.Legs() {
			if legs[m].known && !legs[o].known {
				p += stepTwoLegs / 3 * w.load(w.kinds, legs[m], w.line[m][o]) * w.still(legs, m, -1)
			}
		}
	}
	return p
}

// load is the density of a change as a single load on a voltage, on or off.
func (w *walker) load(kinds []float32, c legChange, voltage complex128) float64 {
	size := cmplx.Abs(c.amps)
	if size < 2*c.noise {
		return strayDensity(c)
	}
	phi := cmplx.Phase(voltage/c.amps) * 180 / math.Pi
	on, off := kinds[cell(phi)], kinds[cell(phi+180)]
	angle := (stepOn*float64(on) + (1-stepOn)*float64(off)) / (cellDegrees * math.Pi / 180)
	odd := math.Min(1, oddLoad+2*c.noise/size)
	angle = (1-odd)*angle + odd/(2*math.Pi)
	return stepSizeDensity / (size * size) * angle
}

// strayDensity is the density of a change of any size at any angle.
func strayDensity(c legChange) float64 {
	size := math.Max(cmplx.Abs(c.amps), 2*c.noise)
	return stepSizeDensity / (size * size) / (2 * math.Pi)
}

// still is the density of the other legs not changing.
func (w *walker) still(legs *[3]legChange, m, o int) float64 {
	p := 1.0
	for i := range legs {
		if i != m && i != o && legs[i].known {
			p *= bell2(legs[i].amps, legs[i].noise)
		}
	}
	return p
}

// alike is the density of a three-phase load.
func (w *walker) alike(legs *[3]legChange) float64 {
	first := -1
	p := 1.0
	for m := range legs {
		if !legs[m].known {
			continue
		}
		if first < 0 {
			first = m
			continue
		}
		want := legs[first].amps * w.star[m] / w.star[first]
		noise := math.Hypot(legs[m].noise, legs[first].noise) + 0.01*cmplx.Abs(want)
		if p *= bell2(legs[m].amps-want, noise); p == 0 {
			return 0
		}
	}
	return p * w.load(w.three, legs[first], w.star[first])
}

// bell2 is a normal density in the plane; beyond twelve spreads it is none.
func bell2(z complex128, spread float64) float64 {
	x, y := real(z)/spread, imag(z)/spread
	square := x*x + y*y
	if square > 144 {
		return 0
	}
	return math.Exp(-square/2) / (2 * math.Pi * spread * spread)
}

// weighSteps multiplies what the base gave by what the changes say.
func (p *posterior) weighSteps(h *history) {
	most := math.Inf(-1)
	scores := make([][arrangements]float64, len(p.frames))
	for f := range p.frames {
		sc := newScene(&p.frames[f], &p.sights)
		w := newWalker(sc)
		list := sc.model.lists[sc.judged]
		for i := range list {
			a := &list[i]
			if p.weights[f][a.number] < 1e-12 {
				p.weights[f][a.number] = 0
				continue
			}
			s := w.score(h, a) + math.Log(p.weights[f][a.number])
			scores[f][a.number] = s
			most = math.Max(most, s)
		}
	}
	if math.IsInf(most, -1) {
		return
	}
	var sum float64
	for f := range p.weights {
		for a, old := range p.weights[f] {
			if old > 0 {
				p.weights[f][a] = math.Exp(scores[f][a] - most)
				sum += p.weights[f][a]
			}
		}
	}
	p.scale(sum)
}
