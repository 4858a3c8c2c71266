package infer

import (
	"math"
	"math/cmplx"

	"legwork/diagnose/internal/gaussian"
	"legwork/diagnose/internal/loadmodel"
	"legwork/diagnose/wiring"
)

// A CT on the neutral.
//
// With its arrow towards the loads it reads I = -(J_A + J_B + J_C); turned round,
// the opposite. Its own leg, m, has no CT then and carries
//
//	J_m = -+I - sum of the other legs' J
//
// The map from I to J_m is a shift, so densities in the plane of phasors carry over.
// What weighs a CT on the neutral against one on the leg, either way round, is the
// density of J_m beside the other legs' currents,
//
//	p(J_m | others)   against   p(I | others) + p(-I | others)
//
// Of three legs it is tabulated in size and angle at once (loadmodel, third.go). Of two
// it is, with d the logarithm of a size beside the other's,
//
//	p(J | others) = p(phi | others) p(d) / |J|^2

// cancelSlack is what the errors of the CTs leave of legs that cancel, as a share
// of their sum: class 1, half its limits (IEC 61869-2, Table 201).
const cancelSlack = 0.012

// What harmonics say. Of loads to neutral those of order 3, 9, ... are in phase on the
// three legs, so they add up in the neutral where fundamentals cancel; those of
// three-phase loads, and of loads between two legs, don't reach it (textbooks on power
// quality, from memory). With H the harmonics of a channel, W its fundamental, and S and
// D those of the others together,
//
//	on the neutral  none, or ln H about ln S
//	on a leg        none, or ln H about ln W S/D
//
// What the classes of CTs and meters make of nothing is counted as a size below it.

// harmonics is how much likelier the harmonics of channel k are on the neutral.
func (sc *Scene) harmonics(k int) float64 {
	if kind := sc.Frame.Service.Kind; kind != wiring.Wye && kind != wiring.WyeLegs {
		return 1 // of two opposite legs they cancel
	}
	h, known := sc.Observed[k].Harmonics()
	if !known {
		return 1
	}
	var others, fundamentals float64
	seen := h > hiddenHarmonics*sc.Observed[k].Amps
	for j := range sc.Observed {
		if j == k || sc.judged>>j&1 == 0 {
			continue
		}
		o, ok := sc.Observed[j].Harmonics()
		if !ok {
			return 1
		}
		seen = seen || o > hiddenHarmonics*sc.Observed[j].Amps
		others += max(o, hiddenHarmonics/2*sc.Observed[j].Amps)
		fundamentals += sc.Observed[j].Working
	}
	if fundamentals == 0 || !seen {
		return 1
	}
	least := math.Log(hiddenHarmonics * sc.Observed[k].Amps)
	at := func(mean, bare float64) float64 {
		if x := math.Log(max(h, 1e-9)); x > least {
			return (1 - bare) * gaussian.Line(x-mean, harmonicSpread)
		}
		return bare + (1-bare)*math.Erfc((mean-least)/(harmonicSpread*math.Sqrt2))/2
	}
	return at(math.Log(others), neutralBare) / at(math.Log(others/fundamentals*sc.Observed[k].Working), legBare)
}

// neutralLikelihood is the likelihood of the load angles with one CT on the neutral.
func (sc *Scene) neutralLikelihood(r signedReading, prior float64) (likelihood float64) {
	var room [2 * mostChoices]legCurrents
	list := sc.choices(r, room[:0])
	for i := range list {
		n := sc.besidesOf(r, &list[i])
		n.prior = prior
		if n.three() {
			likelihood += n.l.share * n.ofThree()
		} else {
			likelihood += n.l.share * n.ofTwo()
		}
	}
	return likelihood * sc.harmonics(r.Neutral-1)
}

// besides is a leg without a CT beside the others.
type besides struct {
	sc      *Scene
	r       signedReading
	l       *legCurrents
	k, m    int // the channel on the neutral, and the leg without a CT
	axis    int // of the leg
	others  complex128
	prior   float64
	density *loadmodel.Density // for the currents of the others
}

func (sc *Scene) besidesOf(r signedReading, l *legCurrents) besides {
	n := besides{sc: sc, r: r, l: l, k: r.Neutral - 1, m: r.Bare, axis: sc.Axis[r.Bare]}
	l.amps[n.m], l.size[n.axis] = 0, 0
	n.others = l.amps[0] + l.amps[1] + l.amps[2]
	n.density = sc.densities.Of(classOf(l.size))
	return n
}

// three reports that both other legs are known, and that their sizes count.
func (n *besides) three() bool {
	return n.density.Besides() && n.l.at[(n.axis+1)%3] >= 0 && n.l.at[(n.axis+2)%3] >= 0
}

// bare is J_m for candidate i of the channel on the neutral.
func (n *besides) bare(i int) complex128 {
	z := n.sc.reads[n.k][i]
	if n.r.Digit[n.k]%2 == 0 {
		z = -z
	}
	return z - n.others
}

func (n *besides) ofThree() float64 {
	sc, o := n.sc, &n.sc.Observed[n.k]
	var angles float64 // of I as a leg's own
	for _, c := range o.List() {
		if c.Share < leastCandidate {
			continue
		}
		for turned := range 2 {
			n.l.at[n.axis] = loadmodel.Cell(c.Theta - sc.offset[n.k][2*n.m+turned])
			angles += c.Share * sc.density.At(n.l.at)
		}
	}
	if n.prior*angles < leastNeutral*sc.most {
		return 0
	}
	var at [3]complex128
	for leg, j := range n.l.amps {
		at[sc.Axis[leg]] = j * sc.upright[leg]
	}
	others := n.density.Beside(&at, n.l.at, n.axis)
	var own, likelihood float64
	for i, c := range o.List() {
		if c.Share < leastCandidate {
			continue
		}
		k := sc.reads[n.k][i] * sc.upright[n.m]
		own += c.Share * (others.At(k) + others.At(-k))
		if n.r.follows(o, n.k, c) {
			likelihood += c.Share * others.At(n.bare(i)*sc.upright[n.m])
		}
	}
	return angles * likelihood / own
}

// ofTwo is the same where no more than one other leg is known.
func (n *besides) ofTwo() (likelihood float64) {
	sc, o, l := n.sc, &n.sc.Observed[n.k], n.l
	var slack float64
	for k := range sc.Observed {
		slack += cancelSlack * sc.Observed[k].Working
	}
	l.size[n.axis] = o.Working
	own := sc.density.Size(l.size, n.axis) / (o.Working * o.Working)
	for i, c := range o.List() {
		if !n.r.follows(o, n.k, c) {
			continue
		}
		j := n.bare(i)
		size := math.Hypot(cmplx.Abs(j), slack)
		l.size[n.axis], l.at[n.axis] = size, sc.phi(n.m, j)
		d := sc.densities.Of(classOf(l.size))
		likelihood += c.Share * d.At(l.at) * d.Size(l.size, n.axis) / (size * size) / own
	}
	return likelihood
}
