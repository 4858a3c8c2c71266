package infer

import (
	"math"
	"math/cmplx"

	"legwork/diagnose/internal/evidence"
	"legwork/diagnose/internal/loadmodel"
	"legwork/diagnose/internal/prior"
)

// legCurrents are the currents of the legs that CTs sit on, for one choice of the
// channels' candidates.
type legCurrents struct {
	share float64       // of the choice
	amps  [3]complex128 // by leg, from leg 1's own phasor of the service
	size  [3]float64    // A, by canonical axis
	at    [3]int        // cells of the load angles, by canonical axis; -1 where there is none
}

// anySigns stands for every vector of signs.
const anySigns = -1

// signedReading is one arrangement read with one vector of the angles' signs, or any.
type signedReading struct {
	*prior.Arranged
	signs int
}

// follows reports a candidate of channel k that is worth following.
func (r signedReading) follows(o *evidence.Observation, k int, c evidence.Candidate) bool {
	return c.Share >= leastCandidate && (r.signs == anySigns || o.HasSign(c, r.signs>>k&1 == 1))
}

// mostChoices is how many choices are usual: two signs of each of three channels.
const mostChoices = 8

// choices fills a list with every choice of the candidates of the channels on legs.
func (sc *Scene) choices(r signedReading, list []legCurrents) []legCurrents {
	list = append(list, legCurrents{share: 1, at: [3]int{-1, -1, -1}})
	for k, digit := range r.Digit {
		if digit < 0 || k == r.Neutral-1 {
			continue
		}
		before := len(list)
		for i, c := range sc.Observed[k].List() {
			if r.follows(&sc.Observed[k], k, c) {
				for n := range before {
					list = append(list, list[n])
					sc.choose(&list[len(list)-1], k, digit, i)
				}
			}
		}
		list = list[:copy(list, list[before:])]
	}
	return list
}

// choose takes candidate i of channel k.
func (sc *Scene) choose(l *legCurrents, k, digit, i int) {
	leg, o := digit/2, &sc.Observed[k]
	axis := sc.Axis[leg]
	l.share *= o.Candidates[i].Share
	l.size[axis], l.at[axis] = o.Working, sc.cellOf(k, digit, o.Candidates[i])
	l.amps[leg] = sc.turned(k, digit, i)
}

// cellOf is the cell of the load angle that a candidate of channel k makes at a place.
func (sc *Scene) cellOf(k, digit int, c evidence.Candidate) int {
	return loadmodel.Cell(c.Theta - sc.offset[k][digit])
}

// turned is the current that candidate i of channel k makes at a place.
func (sc *Scene) turned(k, digit, i int) complex128 {
	if digit%2 == 1 {
		return -sc.reads[k][i]
	}
	return sc.reads[k][i]
}

// phi is the cell of the load angle of a leg with some current.
func (sc *Scene) phi(leg int, amps complex128) int {
	return loadmodel.Cell(cmplx.Phase(sc.Frame.Leg[leg]*cmplx.Conj(amps)) * 180 / math.Pi)
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
