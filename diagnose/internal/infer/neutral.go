package infer

import (
	"math"
	"math/cmplx"

	"legwork/diagnose/internal/prior"
)

// A CT on the neutral.
//
// With its arrow towards the loads it reads I = -(J_A + J_B + J_C); turned round,
// the opposite. Its own leg, m, has no CT then and carries
//
//	J_m = -+I - sum of the other legs' J
//
// The map from I to J_m is a shift, so densities in the plane of phasors carry over.
// The density of a leg's phasor beside the others is, per unit of its logarithm of
// size and of its angle, p(d) p(phi), and so p(d) p(phi) / |J|^2 in the plane. What
// weighs a CT on the neutral against one on the leg is
//
//	p(phi, J_m) p(d_m) / |J_m|^2   against   p(phi, I) p(d_I) / |I|^2

// cancelSlack is what the errors of the CTs leave of legs that cancel, as a share
// of their sum: class 1, half its limits (IEC 61869-2, Table 201).
const cancelSlack = 0.012

// neutralLikelihood is the likelihood of the load angles with one CT on the neutral,
// for one vector of the angles' signs or for all.
func (sc *Scene) neutralLikelihood(a *prior.Arranged, signs int) (likelihood float64) {
	var slack float64
	for k := range sc.Observed {
		slack += cancelSlack * sc.Observed[k].Working
	}
	k, m := a.Neutral-1, a.Bare
	o, axis := &sc.Observed[k], sc.Axis[m]
	l := legCurrentsOf(sc, a, signs)
	l.each = func(share float64) {
		var others complex128
		for leg, j := range l.amps {
			if leg != m {
				others += j
			}
		}
		l.size[axis] = o.Working
		as := sc.density.Size(l.size, axis) / (o.Working * o.Working) // as a leg of its own
		for _, c := range o.List() {
			if c.Share < leastCandidate || signs != anySigns && !o.HasSign(c, signs>>k&1 == 1) {
				continue
			}
			i := cmplx.Rect(o.Working, cmplx.Phase(sc.Frame.Input[k])-c.Theta*math.Pi/180)
			if a.Digit[k]%2 == 0 {
				i = -i
			}
			j := i - others
			size := math.Hypot(cmplx.Abs(j), slack)
			l.size[axis], l.at[axis] = size, sc.phi(m, j)
			d := sc.densities.Of(classOf(l.size))
			likelihood += share * c.Share * d.At(l.at) * d.Size(l.size, axis) / (size * size) / as
		}
	}
	l.run(0, 1)
	return likelihood
}
