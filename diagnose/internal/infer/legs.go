package infer

import (
	"math"
	"math/cmplx"

	"legwork/diagnose/internal/loadmodel"
	"legwork/diagnose/internal/prior"
)

// legCurrents goes through the candidates of the channels that sit on legs, and gives
// each choice as the currents of the legs.
type legCurrents struct {
	sc    *Scene
	a     *prior.Arranged
	signs int // one vector of the angles' signs, or anySigns

	amps [3]complex128 // by leg, from leg 1's own phasor of the service
	size [3]float64    // A, by canonical axis
	at   [3]int        // cells of the load angles, by canonical axis; -1 where there is none
	each func(share float64)
}

// leastCandidate is the share below which a candidate of an angle isn't followed here:
// what distortion may make of a power factor, for one.
const leastCandidate = 0.2

// anySigns stands for every vector of signs.
const anySigns = -1

// legCurrentsOf begins with no leg.
func legCurrentsOf(sc *Scene, a *prior.Arranged, signs int) legCurrents {
	return legCurrents{sc: sc, a: a, signs: signs, at: [3]int{-1, -1, -1}}
}

// run takes the candidates of channel k and those after it.
func (l *legCurrents) run(k int, share float64) {
	for k < 3 && (l.a.Digit[k] < 0 || k == l.a.Neutral-1) {
		k++
	}
	if k == 3 {
		l.each(share)
		return
	}
	sc, digit := l.sc, l.a.Digit[k]
	leg := digit / 2
	axis := sc.Axis[leg]
	o, off := &sc.Observed[k], sc.Offset(k, digit)
	for _, c := range o.List() {
		if c.Share < leastCandidate || l.signs != anySigns && !o.HasSign(c, l.signs>>k&1 == 1) {
			continue
		}
		phi := c.Theta - off
		l.size[axis], l.at[axis] = o.Working, loadmodel.Cell(phi)
		l.amps[leg] = cmplx.Rect(o.Working, cmplx.Phase(sc.Frame.Leg[leg])-phi*math.Pi/180)
		l.run(k+1, share*c.Share)
	}
}

// phi is the cell of the load angle of a leg with some current.
func (sc *Scene) phi(leg int, amps complex128) int {
	return loadmodel.Cell(cmplx.Phase(sc.Frame.Leg[leg]/amps) * 180 / math.Pi)
}

// classOf is that of currents, as far as there are any.
func classOf(size [3]float64) int {
	least, most := math.Inf(1), 0.0
	for _, x := range size {
		if x > 0 {
			least, most = math.Min(least, x), math.Max(most, x)
		}
	}
	return loadmodel.ClassOf(most / least)
}
