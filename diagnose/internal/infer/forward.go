package infer

import (
	"math"
	"math/bits"
	"math/cmplx"

	"legwork/diagnose/internal/evidence"
	"legwork/diagnose/internal/gaussian"
	"legwork/diagnose/internal/loadmodel"
	"legwork/diagnose/internal/prior"
)

// changes weighs the changes of one history under one frame.
type changes struct {
	scene *Scene
	kinds []float32 // density of a single load's own angle, per cell
	three []float32
	turn  [3]complex128    // phasor of each leg's voltage, of size 1
	star  [3]complex128    // phasor from the star point to each leg, of size 1
	line  [3][3]complex128 // phasor from leg to leg, of size 1

	// place turns a channel's phasor at a digit into the leg's own, absolute.
	place [3][prior.Digits]complex128
}

func newChanges(sc *Scene) *changes {
	w := &changes{scene: sc, kinds: sc.density.Kinds, three: sc.density.Three}
	e := sc.Frame.Leg
	legs := sc.Frame.Service.Legs()
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
			w.place[k][d] = cmplx.Rect(1, sc.Offset(k, d)*math.Pi/180) * w.turn[d/2]
		}
		own := unit(sc.Frame.Input[k])
		w.place[k][prior.Neutral], w.place[k][prior.Neutral+1] = -own, own // it carries the legs' sum back
	}
	return w
}

// The forward pass.
//
// Where a meter gives V, I and P alone the sign of every angle is open, in each
// state of the load anew. Under one arrangement the history then is a hidden Markov
// model: what is hidden is the vector c of the three channels' signs, what is
// observed is the change from one state of the load to the next. With pi(c) the
// shares of the vectors at first, a(c, c') that of passing from one to the other
// and b(c, c') the density of the change for both,
//
//	alpha_1(c) = pi(c)
//	alpha_t+1(c') = sum over c of alpha_t(c) a(c, c') b(c, c')
//
// and the likelihood of all changes is the product of the sums by which alpha is
// scaled to one at each step (L. R. Rabiner, "A tutorial on hidden Markov models",
// Proc. IEEE 77 (1989), 257-286, section III.A and V.A; there b depends on c' alone).
// With all signs known there is one vector, and the pass is a plain product.

// signVectors is how many vectors of signs three channels have.
const signVectors = 8

// logLikelihood is that of all fresh changes of a history under arrangement a.
func (w *changes) logLikelihood(h *evidence.History, a *prior.Arranged) float64 {
	vectors := 1
	if h.AnySignOpen() {
		vectors = signVectors
	}
	var alpha [signVectors]float64
	for c := range vectors {
		alpha[c] = 1 / float64(vectors)
	}
	base := h.BaseAt()
	var log float64
	for i := range h.States {
		to := &h.States[i]
		if i > 0 {
			if to.Repeats && vectors == 1 {
				continue
			}
			alpha = w.advance(&h.States[i-1], to, a, alpha, vectors)
		}
		if i == base && vectors > 1 {
			w.fromBase(a, &alpha)
		}
		if i == 0 {
			continue
		}
		sum := scaleToOne(&alpha)
		if sum <= 0 {
			return math.Inf(-1)
		}
		log += math.Log(sum)
	}
	return log
}

// scaleToOne divides by the sum, which it gives.
func scaleToOne(alpha *[signVectors]float64) (sum float64) {
	for _, p := range alpha {
		sum += p
	}
	if sum > 0 {
		for c := range alpha {
			alpha[c] /= sum
		}
	}
	return sum
}

// fromBase weighs the sign vectors by what the load angles of the base say of
// each; their sum over all signs is in the posterior already.
func (w *changes) fromBase(a *prior.Arranged, alpha *[signVectors]float64) {
	var share [signVectors]float64
	var sum float64
	for c := range share {
		share[c] = w.scene.signed(a, c)
		sum += share[c]
	}
	if sum == 0 {
		return
	}
	for c := range alpha {
		alpha[c] *= share[c] / sum * signVectors
	}
}

// signed is the density of the load angles with the signs of one vector.
func (sc *Scene) signed(a *prior.Arranged, signs int) float64 {
	switch {
	case sc.exports:
		return sc.exportLikelihood(signedReading{a, signs})
	case a.Neutral > 0:
		return sc.neutralLikelihood(signedReading{a, signs}, 1)
	}
	var sum float64
	var walk func(k int, share float64, at [3]int)
	walk = func(k int, share float64, at [3]int) {
		for k < 3 && a.Digit[k] < 0 {
			k++
		}
		if k == 3 {
			sum += share * sc.At(at)
			return
		}
		s, off := &sc.Observed[k], sc.Offset(k, a.Digit[k])
		for _, c := range s.List() {
			if !s.HasSign(c, signs>>k&1 == 1) {
				continue
			}
			at[sc.Axis[a.Digit[k]/2]] = loadmodel.Cell(c.Theta - off)
			walk(k+1, share*c.Share, at)
		}
	}
	walk(0, 1, [3]int{-1, -1, -1})
	return sum
}

// advance carries the weights of the sign vectors over one change.
func (w *changes) advance(from, to *evidence.State, a *prior.Arranged, alpha [signVectors]float64, vectors int) [signVectors]float64 {
	var next [signVectors]float64
	for after := range vectors {
		for before := range vectors {
			p := alpha[before]
			if p < 1e-9 {
				continue
			}
			if vectors > 1 {
				p *= passes(before, after)
			}
			if !to.Repeats {
				p *= w.likelihood(from, to, a, before, after, vectors > 1)
			}
			next[after] += p
		}
	}
	return next
}

// passes is a(c, c'): each channel keeps its sign by itself.
func passes(before, after int) float64 {
	switch bits.OnesCount(uint(before ^ after)) {
	case 0:
		return signStays * signStays * signStays
	case 1:
		return signStays * signStays * (1 - signStays)
	case 2:
		return signStays * (1 - signStays) * (1 - signStays)
	}
	return (1 - signStays) * (1 - signStays) * (1 - signStays)
}

// likelihood is the density of one change for given signs. Between two looks the loads
// that stay on may have drifted, or have been calm; where signs are open their blur
// outweighs either.
func (w *changes) likelihood(from, to *evidence.State, a *prior.Arranged, before, after int, open bool) float64 {
	drifted := w.under(from, to, a, before, after, 1)
	if open {
		return drifted
	}
	return (1-calmShare)*drifted + calmShare*w.under(from, to, a, before, after, calmNoise)
}

// under is the density of one change where what stays is uncertain by so many times the
// usual.
func (w *changes) under(from, to *evidence.State, a *prior.Arranged, before, after int, times float64) float64 {
	m := moved{bare: -1}
	p := 1.0
	for k, d := range a.Digit {
		if d < 0 || k == a.Neutral-1 {
			continue
		}
		c := channelChange(from, to, k, before>>k&1, after>>k&1, times).turned(w.place[k][d])
		leg := &m.legs[d/2]
		if leg.known { // two CTs on one conductor change alike
			p *= gaussian.Plane(c.amps-leg.amps, math.Hypot(c.blur, leg.blur))
			continue
		}
		*leg = c
	}
	if a.Neutral == 0 {
		m.sum = sumOf(&m.legs)
		return p * w.mixture(&m)
	}
	k := a.Neutral - 1
	back := channelChange(from, to, k, before>>k&1, after>>k&1, times).turned(w.place[k][a.Digit[k]])
	m.sum = back
	m.legs[a.Bare] = back.bare(&m.legs, times)
	if times < 1 {
		m.bare = a.Bare
	}
	return p * w.mixture(&m)
}

// channelChange is the change that channel k saw, as seen from its own voltage.
// A change of the voltage moves the current of whatever is on by about as much.
func channelChange(from, to *evidence.State, k, signBefore, signAfter int, times float64) legChange {
	end, begin := &from.Edges[evidence.Closing][k], &to.Edges[evidence.Opening][k]
	noise := times*math.Hypot(end.Noise(), begin.Noise()) + evidence.Dip(end.Current, begin.Current)
	before, after := end.Z[min(signBefore, end.Zs-1)], begin.Z[min(signAfter, begin.Zs-1)]
	blur := noise
	if end.Zs > 1 || begin.Zs > 1 {
		blur += signlessNoise*math.Abs(imag(after-before)) + signlessRest*math.Abs(imag(before))
	}
	return legChange{true, after - before, before, noise, blur}
}

// weighSteps multiplies what the base gave by what the changes say.
func (p *Posterior) weighSteps(h *evidence.History) {
	most := math.Inf(-1)
	scores := make([][prior.Arrangements]float64, len(p.Frames))
	for f := range p.Frames {
		sc := NewScene(&p.Frames[f], &p.Observed, p.Sort)
		w := newChanges(sc)
		list := sc.model.Lists[sc.judged]
		for i := range list {
			a := &list[i]
			if p.Weights[f][a.Number] < 1e-12 {
				p.Weights[f][a.Number] = 0
				continue
			}
			s := w.logLikelihood(h, a) + math.Log(p.Weights[f][a.Number])
			scores[f][a.Number] = s
			most = math.Max(most, s)
		}
	}
	if math.IsInf(most, -1) {
		return
	}
	var sum float64
	for f := range p.Weights {
		for a, old := range p.Weights[f] {
			if old > 0 {
				p.Weights[f][a] = math.Exp(scores[f][a] - most)
				sum += p.Weights[f][a]
			}
		}
	}
	p.scale(sum)
	p.Evidence += most
}
