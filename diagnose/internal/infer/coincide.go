package infer

import (
	"math"
	"math/cmplx"

	"legwork/diagnose/internal/gaussian"
	"legwork/diagnose/internal/loadmodel"
	"legwork/diagnose/internal/prior"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// sameConductor is the likelihood of two currents by size if they are one,
// against their being of two conductors: two CTs on one conductor read the same current
// but for their errors, those on two do so by chance only.
func sameConductor(a, b float64) float64 {
	if a <= 0 || b <= 0 {
		return 0
	}
	return gaussian.Line(math.Log(a/b), ratioSpread) / ratioDensity
}

// Coincide is how well candidate i of the later of two CTs on one leg agrees
// in angle with any candidate of the earlier one.
func (sc *Scene) Coincide(a *prior.Arranged, i int) float64 {
	earlier, later := &sc.Implied[a.Same[0]][a.Digit[a.Same[0]]], &sc.Implied[a.Same[1]][a.Digit[a.Same[1]]]
	var p float64
	for n := range earlier.N {
		off := float64(reading.Degrees(later.Phi[i] - earlier.Phi[n]))
		if math.Abs(off) > 10*coincidentAngle {
			continue
		}
		p += earlier.Share[n] * gaussian.Line(off, coincidentAngle) * loadmodel.CellDegrees
	}
	return p
}

// coincidences is the density of panels whose currents agree exactly, beyond
// what the table gives: one load alone across two legs, or balanced three-phase
// loads alone. Without it two CTs on one conductor would seem the only cause. They come
// in as odds against a panel of ordinary loads, not as shares, so that the mixture stays
// normalised: the sum of all is the same for every arrangement and cancels.
func (sc *Scene) coincidences(a *prior.Arranged) float64 {
	if a.Same[1] != 0 {
		return 0
	}
	sum := sc.balanced(a)
	for k := range a.Digit {
		for j := range k {
			if a.Digit[k] >= 0 && a.Digit[j] >= 0 && sc.alike[j][k] > 1 {
				sum += oneLoadOdds * sc.alike[j][k] * sc.opposite(a, j, k)
			}
		}
	}
	return sum
}

// balanced is the density of three legs that carry the same.
func (sc *Scene) balanced(a *prior.Arranged) float64 {
	if sc.judged != 7 || sc.alike[0][1] < 1 || sc.alike[1][2] < 1 || sc.Frame.Service.Kind != wiring.Wye {
		return 0
	}
	implied := [3]*implied{&sc.Implied[0][a.Digit[0]], &sc.Implied[1][a.Digit[1]], &sc.Implied[2][a.Digit[2]]}
	near := func(k int, phi float64) float64 {
		var p float64
		for n := range implied[k].N {
			p += implied[k].Share[n] * gaussian.Line(float64(reading.Degrees(implied[k].Phi[n]-phi)), coincidentAngle) * loadmodel.CellDegrees
		}
		return p
	}
	var sum float64
	for n := range implied[0].N {
		phi := implied[0].Phi[n]
		p := implied[0].Share[n] * near(1, phi) * near(2, phi)
		if p < 1e-6 {
			continue
		}
		sum += p * float64(sc.density.Three[implied[0].cell[n]])
	}
	return balancedOdds * sc.alike[0][1] * sc.alike[1][2] * sum
}

// opposite is the density of the other legs and of leg j times how well the
// currents of j and k are opposite: arg E_j - phi_j = arg E_k - phi_k + 180.
func (sc *Scene) opposite(a *prior.Arranged, j, k int) float64 {
	legJ, legK := a.Digit[j]/2, a.Digit[k]/2
	turn := cmplx.Phase(sc.Frame.Leg[legJ]/sc.Frame.Leg[legK])*180/math.Pi - 180
	others := prior.Arranged{Digit: a.Digit}
	others.Digit[k] = -1
	seenJ, seenK := &sc.Implied[j][a.Digit[j]], &sc.Implied[k][a.Digit[k]]
	var match float64
	for m := range seenJ.N {
		for n := range seenK.N {
			off := float64(reading.Degrees(seenJ.Phi[m] - seenK.Phi[n] - turn))
			match += seenJ.Share[m] * seenK.Share[n] * gaussian.Line(off, coincidentAngle) * loadmodel.CellDegrees
		}
	}
	if match < 1e-6 {
		return 0
	}
	return match * sc.likelihood(&others)
}
