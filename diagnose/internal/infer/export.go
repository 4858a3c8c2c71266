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

// Power that flows back.
//
// What generates gives the power B, in equal parts on all legs, beside ordinary loads,
// and some of it vars besides, at an angle psi from unity. With e_m the voltage of a leg,
// b_m = -(B / n) (1 + j tan psi) / e_m* is its current, and the loads of leg m carry
// J_m - b_m. For a given B and psi that is a shift, so the density in the plane of phasors
// (see neutral.go) carries over; both are summed out,
//
//	p(J) = sum over psi of p(psi) integral of p_load(J - b) p(B | load) dB
//
// with B between 0.2 and 4 times the loads' power, as likely in every octave.

// The steps over which B is summed.
const (
	exportSteps = 16
	exportFrom  = 0.02 // of the legs' apparent power, in the first step
	exportTo    = 8.0
)

// varAngles are the tangents of psi over which vars are summed: inverters are able to give or
// to take 44 % of their power (IEEE 1547-2018, 5.2, category B), small engines more.
var varAngles = [...]float64{-0.6, -0.42, -0.25, 0.25, 0.42, 0.6}

// exportLikelihood is the likelihood of the load angles and sizes where power flows
// back, for one vector of the angles' signs or for all. It stands against that of the
// load angles alone, so the sizes as they were read are divided out.
func (sc *Scene) exportLikelihood(r signedReading) (likelihood float64) {
	step := math.Pow(exportTo/exportFrom, 1./(exportSteps-1))
	weight := math.Log(step) / math.Log(mostExport/leastExport)
	var room [2 * mostChoices]legCurrents
	list := sc.choices(r, room[:0])
	vars := r.Share[prior.SequenceIndex(sc.Frame.Sequence)] >= leastVarsPrior
	for i := range list {
		l := &list[i]
		apparent, power, n := sc.legPowers(l)
		if n == 0 {
			continue
		}
		as := sc.density.Sizes(l.size)
		for _, j := range l.amps {
			if j != 0 {
				as /= square(j)
			}
		}
		back := exportFrom * apparent
		for range exportSteps {
			load := power + back
			if load > 0 && back >= leastExport*load && back <= mostExport*load {
				part := (1 - exportVars) * sc.without(l, complex(back/n, 0))
				if vars {
					part += exportVars * sc.withoutVars(l, back/n)
				}
				likelihood += l.share * weight * part / as
			}
			back *= step
		}
	}
	return likelihood
}

// legPowers adds up the legs' apparent and active powers, per unit of voltage.
func (sc *Scene) legPowers(l *legCurrents) (apparent, power, n float64) {
	for m, j := range l.amps {
		if j == 0 {
			continue
		}
		e := sc.Frame.Leg[m]
		n++
		apparent += cmplx.Abs(e) * cmplx.Abs(j)
		power += real(e * cmplx.Conj(j))
	}
	return apparent, power, n
}

// without is the density of the loads that remain when each leg gives back some power, and vars.
func (sc *Scene) without(read *legCurrents, back complex128) float64 {
	l := *read
	p := 1.0
	var phi [3]float64 // degrees, by axis
	for m, j := range read.amps {
		if j == 0 {
			continue
		}
		e, axis := sc.Frame.Leg[m], sc.Axis[m]
		j += back / cmplx.Conj(e)
		size := cmplx.Abs(j) + cancelSlack*l.size[axis]
		phi[axis] = cmplx.Phase(e/j) * 180 / math.Pi
		l.size[axis], l.at[axis] = size, loadmodel.Cell(phi[axis])
		p /= size * size
	}
	d := sc.densities.Of(classOf(l.size))
	return p * (d.At(l.at) + sc.balancedLoads(d, l.size, phi)) * d.Sizes(l.size)
}

// withoutVars is the same over what vars may come with the power.
func (sc *Scene) withoutVars(l *legCurrents, back float64) (p float64) {
	for _, tan := range varAngles {
		p += sc.without(l, complex(back, back*tan)) / float64(len(varAngles))
	}
	return p
}

// balancedLoads is the density of three legs whose loads are alike (see coincide.go),
// sizes in A and angles in degrees by axis.
func (sc *Scene) balancedLoads(d *loadmodel.Density, size, phi [3]float64) float64 {
	if sc.Frame.Service.Kind != wiring.Wye || min(size[0], size[1], size[2]) < 0.9*max(size[0], size[1], size[2]) {
		return 0
	}
	match := 1.0
	var three float64
	for a := range size {
		b := (a + 1) % len(size)
		off := float64(reading.Degrees(phi[a] - phi[b]))
		match *= sameConductor(size[a], size[b]) * gaussian.Line(off, coincidentAngle) * loadmodel.CellDegrees
		three += float64(d.Three[loadmodel.Cell(phi[a])]) / 3
	}
	return balancedOdds * math.Pow(match, 2./3) * three // two of the three pairs are free
}

func square(z complex128) float64 { return real(z)*real(z) + imag(z)*imag(z) }
