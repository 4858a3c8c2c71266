package infer

import (
	"math"
	"math/bits"

	"legwork/diagnose/internal/evidence"
	"legwork/diagnose/internal/gaussian"
	"legwork/diagnose/internal/loadmodel"
	"legwork/diagnose/internal/prior"
)

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
// With all signs known there is one vector, and the pass is a plain product. All that is
// kept for each mix of loads, which stays what it is.

// signVectors is how many vectors of signs three channels have.
const signVectors = 8

// run is the forward pass of one arrangement.
type run struct {
	*prior.Arranged
	log   float64 // of the weight that it began with, and of the likelihood so far
	alpha [len(mixes)][signVectors]float64
}

// follow carries every run over all fresh changes of a history.
func (w *changes) follow(h *evidence.History, runs []run) {
	vectors := 1
	if h.AnySignOpen() {
		vectors = signVectors
	}
	for i := range runs {
		for x := range mixes {
			for c := range vectors {
				runs[i].alpha[x][c] = mixes[x].of / float64(vectors)
			}
		}
	}
	base := h.BaseAt()
	for i := range h.States {
		to := &h.States[i]
		if i > 0 && to.Repeats && vectors == 1 {
			continue
		}
		if i > 0 && !to.Repeats {
			w.see(&h.States[i-1], to, vectors > 1)
		}
		for n := range runs {
			r := &runs[n]
			if i > 0 {
				r.alpha = w.advance(r, to.Repeats, vectors)
			}
			if i == base && vectors > 1 {
				w.fromBase(r.Arranged, &r.alpha)
			}
			if i > 0 {
				r.log += math.Log(scaleToOne(&r.alpha)) // of nothing, minus infinity
			}
		}
	}
}

// scaleToOne divides by the sum, which it gives.
func scaleToOne(alpha *[len(mixes)][signVectors]float64) (sum float64) {
	for x := range alpha {
		for _, p := range alpha[x] {
			sum += p
		}
	}
	if sum > 0 {
		for x := range alpha {
			for c := range alpha[x] {
				alpha[x][c] /= sum
			}
		}
	}
	return sum
}

// fromBase weighs the sign vectors by what the load angles of the base say of
// each; their sum over all signs is in the posterior already.
func (w *changes) fromBase(a *prior.Arranged, alpha *[len(mixes)][signVectors]float64) {
	var share [signVectors]float64
	var sum float64
	for c := range share {
		share[c] = w.scene.signed(a, c)
		sum += share[c]
	}
	if sum == 0 {
		return
	}
	for x := range alpha {
		for c := range share {
			alpha[x][c] *= share[c] / sum * signVectors
		}
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
func (w *changes) advance(r *run, repeats bool, vectors int) (next [len(mixes)][signVectors]float64) {
	if vectors == 1 {
		drifted, calm := w.likelihood(r.Arranged, 0, 0, 0), w.likelihood(r.Arranged, 0, 0, 1)
		for x := range mixes {
			next[x][0] = r.alpha[x][0] * ((1-calmShare)*drifted[x] + calmShare*calm[x])
		}
		return next
	}
	for before := range vectors {
		most := 0.0
		for x := range mixes {
			most = max(most, r.alpha[x][before])
		}
		if most < 1e-9 {
			continue
		}
		for after := range vectors {
			share := passes(before, after)
			if repeats {
				for x := range mixes {
					next[x][after] += r.alpha[x][before] * share
				}
				continue
			}
			for x, p := range w.likelihood(r.Arranged, before, after, 0) {
				next[x][after] += r.alpha[x][before] * share * p
			}
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

// likelihood is the density of the change at hand for given signs, at one of noises, in
// each mix of loads.
func (w *changes) likelihood(a *prior.Arranged, before, after, level int) [len(mixes)]float64 {
	seen := func(k int) *legChange {
		return &w.seen[level][k][before>>k&1|after>>k&1<<1][a.Digit[k]]
	}
	m := moved{bare: -1}
	p := 1.0
	for k, d := range a.Digit {
		if d < 0 || k == a.Neutral-1 {
			continue
		}
		c, leg := seen(k), &m.legs[d/2]
		if *leg != nil { // two CTs on one conductor change alike
			p *= gaussian.Plane(c.amps-(*leg).amps, math.Hypot(c.blur, (*leg).blur))
			continue
		}
		*leg = c
	}
	if a.Neutral == 0 {
		m.add()
		return w.mixture(&m, p)
	}
	m.sum = *seen(a.Neutral - 1)
	m.legs[a.Bare] = w.bare(&m.sum, &m.legs, a.Bare, noises[level])
	if noises[level] < 1 {
		m.bare = a.Bare
	}
	return w.mixture(&m, p)
}

// evenTurns gives arrangements that differ in how channels are turned, of which the readings
// would be the same either way, the mean of their likelihoods: the pass has each phasor on
// one side alone, as if the angle told which.
func (p *Posterior) evenTurns(runs []run, frame int) {
	var either [3]bool
	for k := range either {
		either[k] = p.Observed[k].N > 0 && p.Observed[k].TurnedAlike()
	}
	if either == [3]bool{} {
		return
	}
	alike := map[[3]int][]*run{}
	for i := range runs {
		place := runs[i].Digit
		for k, d := range place {
			if either[k] && d >= 0 {
				place[k] = d &^ 1
			}
		}
		alike[place] = append(alike[place], &runs[i])
	}
	for _, of := range alike {
		most, sum := math.Inf(-1), 0.0
		gained := func(r *run) float64 { return r.log - math.Log(p.Weights[frame][r.Number]) }
		for _, r := range of {
			most = math.Max(most, gained(r))
		}
		if math.IsInf(most, -1) {
			continue
		}
		for _, r := range of {
			sum += math.Exp(gained(r)-most) / float64(len(of))
		}
		for _, r := range of {
			r.log = math.Log(p.Weights[frame][r.Number]) + most + math.Log(sum)
		}
	}
}

// weighSteps multiplies what the base gave by what the changes say.
func (p *Posterior) weighSteps(h *evidence.History) {
	most := math.Inf(-1)
	all := make([][]run, len(p.Frames))
	for f := range p.Frames {
		sc := NewScene(&p.Frames[f], &p.Observed, p.Sort)
		list := sc.model.Lists[sc.judged]
		for i := range list {
			a := &list[i]
			if p.Weights[f][a.Number] < 1e-12 {
				p.Weights[f][a.Number] = 0
				continue
			}
			all[f] = append(all[f], run{Arranged: a, log: math.Log(p.Weights[f][a.Number])})
		}
		newChanges(sc).follow(h, all[f])
		p.evenTurns(all[f], f)
		for i := range all[f] {
			most = math.Max(most, all[f][i].log)
		}
	}
	if math.IsInf(most, -1) {
		return
	}
	var sum float64
	for f := range all {
		for _, r := range all[f] {
			w := math.Exp(r.log - most)
			p.Weights[f][r.Number] = w
			sum += w
		}
	}
	p.scale(sum)
	p.Evidence += most
}
