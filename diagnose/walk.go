package diagnose

import (
	"math"
	"math/cmplx"
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

// score is the sum of log likelihoods of all fresh changes under arrangement a.
// Where an angle has two signs, they are a hidden state that is summed out.
func (w *walker) score(h *history, a *arranged) float64 {
	var alpha [8]float64
	signs := 1
	for k := range h.states[0].sights {
		for i := range h.states {
			if e := &h.states[i].edges; e[opening].zs[k] == 2 || e[closing].zs[k] == 2 {
				signs = 8
			}
		}
	}
	for c := range signs {
		alpha[c] = 1 / float64(signs)
	}
	base := h.baseAt()
	var log float64
	for i := range h.states {
		if i == 0 {
			if base == 0 && signs > 1 {
				w.fromBase(a, &alpha)
			}
			continue
		}
		if h.states[i].repeats && signs == 1 {
			continue
		}
		alpha = w.advance(&h.states[i-1], &h.states[i], a, alpha, signs)
		if i == base && signs > 1 {
			w.fromBase(a, &alpha)
		}
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

// fromBase weighs the sign vectors by what the load angles of the base say of
// each; their sum over all signs is in the posterior already.
func (w *walker) fromBase(a *arranged, alpha *[8]float64) {
	var share [8]float64
	var sum float64
	for c := range share {
		share[c] = w.scene.signed(a, c)
		sum += share[c]
	}
	if sum == 0 {
		return
	}
	for c := range alpha {
		alpha[c] *= share[c] / sum * float64(len(alpha))
	}
}

// signed is the density of the load angles with the signs of one vector.
func (sc *scene) signed(a *arranged, signs int) float64 {
	var sum float64
	var walk func(k int, share float64, at [3]int)
	walk = func(k int, share float64, at [3]int) {
		for k < 3 && a.digit[k] < 0 {
			k++
		}
		if k == 3 {
			sum += share * sc.at(at)
			return
		}
		s, off := &sc.sights[k], sc.offset(k, a.digit[k])
		for _, c := range s.list() {
			if turned := (c.theta < 0) != (s.candidates[0].theta < 0); s.n > 1 && turned != (signs>>k&1 == 1) {
				continue
			}
			at[sc.axis[a.digit[k]/2]] = cell(c.theta - off)
			walk(k+1, share*c.share, at)
		}
	}
	walk(0, 1, [3]int{-1, -1, -1})
	return sum
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
			p *= bell2(c.amps-leg.amps, math.Hypot(c.blur, leg.blur))
			continue
		}
		*leg = c
	}
	return p * w.mixture(&legs)
}

// channelChange is the change that channel k saw, as seen from its own voltage.
// A change of the voltage moves the current of whatever is on by about as much.
func channelChange(from, to *state, k, signBefore, signAfter int) legChange {
	end, begin := &from.edges[closing], &to.edges[opening]
	a, b := &end.sights[k], &begin.sights[k]
	noise := math.Hypot(a.noise(), b.noise())
	if a.volts > 0 && b.volts > 0 {
		noise += a.amps * math.Abs(b.volts/a.volts-1)
	}
	before, after := end.z[k][min(signBefore, end.zs[k]-1)], begin.z[k][min(signAfter, begin.zs[k]-1)]
	blur := noise
	if end.zs[k] > 1 || begin.zs[k] > 1 {
		blur += signlessNoise*math.Abs(imag(after-before)) + signlessRest*math.Abs(imag(before))
	}
	return legChange{true, after - before, noise, blur}
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
