package diagnose

import (
	"math"
	"math/cmplx"

	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// Two CTs on one conductor read the same current but for their errors; two
// conductors do so by chance only. Spreads: assumptions of ours, no source.
const (
	ratioSpread     = 0.02 // of log(current / current) on one conductor
	ratioDensity    = 0.45 // of the same between any two legs, near equality
	coincidentAngle = 2.5  // degrees, between the angles of one conductor's two CTs
)

// sameConductor is the likelihood of two currents by size if they are one,
// against their being of two conductors.
func sameConductor(a, b float64) float64 {
	if a <= 0 || b <= 0 {
		return 0
	}
	return normal(math.Log(a/b), ratioSpread) / ratioDensity
}

func normal(x, spread float64) float64 {
	z := x / spread
	return math.Exp(-z*z/2) / (spread * math.Sqrt(2*math.Pi))
}

// coincide is how well candidate i of the later of two CTs on one leg agrees
// in angle with any candidate of the earlier one.
func (sc *scene) coincide(a *arranged, i int) float64 {
	earlier, later := &sc.seen[a.same[0]][a.digit[a.same[0]]], &sc.seen[a.same[1]][a.digit[a.same[1]]]
	var p float64
	for n := range earlier.n {
		off := float64(reading.Degrees(later.phi[i] - earlier.phi[n]))
		p += earlier.share[n] * normal(off, coincidentAngle) * cellDegrees
	}
	return p
}

// coincidences is the density of panels whose currents agree exactly, beyond
// what the table gives: one load alone across two legs, or balanced three-phase
// loads alone. Without it two CTs on one conductor would seem the only cause.
func (sc *scene) coincidences(a *arranged) float64 {
	if a.same[1] != 0 {
		return 0
	}
	sum := sc.balanced(a)
	for k := range a.digit {
		for j := range k {
			if a.digit[k] >= 0 && a.digit[j] >= 0 && sc.alike[j][k] > 1 {
				sum += oneLoadShare * sc.alike[j][k] * sc.opposite(a, j, k)
			}
		}
	}
	return sum
}

// So many panels carry one load alone across a pair of legs, and so many
// balanced three-phase loads alone. Assumptions of ours, no source.
const (
	oneLoadShare  = 0.02
	balancedShare = 0.08
)

// balanced is the density of three legs that carry the same.
func (sc *scene) balanced(a *arranged) float64 {
	if sc.judged != 7 || sc.alike[0][1] < 1 || sc.alike[1][2] < 1 || sc.frame.service.Kind != wiring.Wye {
		return 0
	}
	seen := [3]*implied{&sc.seen[0][a.digit[0]], &sc.seen[1][a.digit[1]], &sc.seen[2][a.digit[2]]}
	near := func(k int, phi float64) float64 {
		var p float64
		for n := range seen[k].n {
			p += seen[k].share[n] * normal(float64(reading.Degrees(seen[k].phi[n]-phi)), coincidentAngle) * cellDegrees
		}
		return p
	}
	var sum float64
	for n := range seen[0].n {
		phi := seen[0].phi[n]
		p := seen[0].share[n] * near(1, phi) * near(2, phi)
		if p < 1e-6 {
			continue
		}
		sum += p * float64(sc.density.three[seen[0].cell[n]])
	}
	return balancedShare * sc.alike[0][1] * sc.alike[1][2] * sum
}

// opposite is the density of the other legs and of leg j times how well the
// currents of j and k are opposite: arg E_j - phi_j = arg E_k - phi_k + 180.
func (sc *scene) opposite(a *arranged, j, k int) float64 {
	legJ, legK := a.digit[j]/2, a.digit[k]/2
	turn := cmplx.Phase(sc.frame.leg[legJ]/sc.frame.leg[legK])*180/math.Pi - 180
	others := arranged{digit: a.digit}
	others.digit[k] = -1
	seenJ, seenK := &sc.seen[j][a.digit[j]], &sc.seen[k][a.digit[k]]
	var match float64
	for m := range seenJ.n {
		for n := range seenK.n {
			off := float64(reading.Degrees(seenJ.phi[m] - seenK.phi[n] - turn))
			match += seenJ.share[m] * seenK.share[n] * normal(off, coincidentAngle) * cellDegrees
		}
	}
	if match < 1e-6 {
		return 0
	}
	return match * sc.likelihood(&others)
}
