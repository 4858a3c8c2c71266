package diagnose

import (
	"math"
	"math/cmplx"

	"legwork/probe/reading"
)

// scene is what one frame makes of the sights: for every judged channel, leg
// and polarity, the load angles that the candidates imply.
type scene struct {
	frame      *frame
	model      *model
	density    *density
	axis       [3]int // canonical axis of leg number m+1
	judged     int    // bits
	sights     *[3]sight
	seen       [3][digits]implied
	generation bool          // power may flow back
	alike      [3][3]float64 // how well two currents agree in size with one conductor
}

// implied is the load angles of one channel at one place. Candidates that fall
// into one cell count as one.
type implied struct {
	n     int
	cell  [8]int
	share [8]float64
	phi   [8]float64 // degrees, of the first candidate in the cell
}

func (m *implied) add(phi, share float64) {
	c := cell(phi)
	for i := range m.n {
		if m.cell[i] == c {
			m.share[i] += share
			return
		}
	}
	m.cell[m.n], m.share[m.n], m.phi[m.n] = c, share, phi
	m.n++
}

func newScene(f *frame, sights *[3]sight) *scene {
	sc := &scene{frame: f, model: modelOf(f.service), sights: sights}
	for axis, leg := range f.service.Canonical(f.sequence) {
		sc.axis[leg-1] = axis
	}
	n := f.service.Channels()
	least, most := math.Inf(1), 0.0
	for k := range n {
		if !sights[k].loaded || !f.usable[k] {
			continue
		}
		sc.judged |= 1 << k
		least, most = math.Min(least, sights[k].amps), math.Max(most, sights[k].amps)
		for digit := range 2 * f.service.Legs() {
			sc.imply(k, digit)
		}
	}
	sc.density = sc.model.density(classOf(most / least))
	for i := range n {
		for j := range i {
			sc.alike[j][i] = sameConductor(sights[j].amps, sights[i].amps)
		}
	}
	return sc
}

// imply fills the load angles that channel k would show on a leg, turned or not:
// phi = theta - (arg V - arg E) + 180 r.
func (sc *scene) imply(k, digit int) {
	off := sc.offset(k, digit)
	for _, c := range sc.sights[k].list() {
		sc.seen[k][digit].add(float64(reading.Degrees(c.theta-off)), c.share)
	}
}

// offset is theta - phi of channel k for a place, in degrees.
func (sc *scene) offset(k, digit int) float64 {
	off := cmplx.Phase(sc.frame.input[k]/sc.frame.leg[digit/2]) * 180 / math.Pi
	if digit%2 == 1 {
		off += 180
	}
	return off
}

// leastPrior is the prior, with all that is known before the load angles, under
// which an arrangement isn't weighed: the density of no reading makes up for it.
const leastPrior = 1e-6

// weigh fills the weight of every arrangement under the scene's frame.
func (sc *scene) weigh(out *[arrangements]float64) {
	q := sequenceIndex(sc.frame.sequence)
	list := sc.model.lists[sc.judged]
	for i := range list {
		a := &list[i]
		prior := a.share[q] * sc.frame.share
		if a.same[1] != 0 {
			prior *= sc.alike[a.same[0]][a.same[1]]
		}
		if prior < leastPrior {
			continue
		}
		out[a.number] = prior * (sc.likelihood(a) + sc.coincidences(a))
	}
}

// likelihood sums the density over the candidates of the judged channels.
func (sc *scene) likelihood(a *arranged) float64 {
	var sum float64
	at := [3]int{-1, -1, -1}
	sc.each(0, a, 1, at, &sum)
	return sum
}

// each goes through the candidates of channel k and those after it.
func (sc *scene) each(k int, a *arranged, share float64, at [3]int, sum *float64) {
	for k < 3 && a.digit[k] < 0 {
		k++
	}
	if k == 3 {
		*sum += share * sc.at(at)
		return
	}
	seen := &sc.seen[k][a.digit[k]]
	axis := sc.axis[a.digit[k]/2]
	for i := range seen.n {
		share := share * seen.share[i]
		if a.same[1] == k && k > 0 {
			share *= sc.coincide(a, i)
		}
		at[axis] = seen.cell[i]
		sc.each(k+1, a, share, at, sum)
	}
}

// at is the density of load angles; where power may flow back, also with all
// legs, or some, turned round. The shares are assumptions of ours, no source.
func (sc *scene) at(cell [3]int) float64 {
	if !sc.generation {
		return sc.density.at(cell)
	}
	var p float64
	for turned := range 8 {
		c, legs, flips := cell, 0, 0
		for axis := range c {
			if c[axis] < 0 {
				continue
			}
			legs++
			if turned>>axis&1 == 1 {
				c[axis] = (c[axis] + cells/2) % cells
				flips++
			}
		}
		switch flips {
		case 0:
			p += 0.6 * sc.density.at(c)
		case legs:
			p += 0.28 * sc.density.at(c)
		default:
			p += 0.02 * sc.density.at(c)
		}
	}
	return p
}
