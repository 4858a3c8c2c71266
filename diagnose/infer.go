package diagnose

import (
	"math"
	"math/cmplx"

	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// posterior holds the weight of every arrangement under every frame. The
// weights of all frames together sum to one, unless nothing was judged.
type posterior struct {
	frames  []frame
	weights [][arrangements]float64 // by frame
	judged  [3]bool                 // under the likeliest frame
	sights  [3]sight                // of the base: the state whose load angles were weighed
	now     [3]sight                // of the present state

	generation bool // power may flow back

	// told is, by frame, the probability of what a person's tests showed under
	// each arrangement; nil where there were none.
	told [][arrangements]float64
}

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

// infer weighs every arrangement under every frame by the states that may be the
// ordinary one of the panel, each as likely as the others; the first is the base.
func infer(frames []frame, states [][3]sight, generation bool) posterior {
	p := posterior{frames: frames, weights: make([][arrangements]float64, len(frames)), sights: states[0], generation: generation}
	var sum, most float64
	for f := range frames {
		sc := newScene(&frames[f], &states[0])
		sc.generation = generation
		sc.weigh(&p.weights[f])
		sc.weighOthers(states[1:], &p.weights[f])
		mass := 0.0
		for _, w := range p.weights[f] {
			mass += w
		}
		if mass > most {
			most = mass
			p.setJudged(sc.judged)
		}
		sum += mass
	}
	p.scale(sum)
	return p
}

// weighOthers takes the mean with the weights by other states, as far as they
// show the same channels.
func (sc *scene) weighOthers(states [][3]sight, out *[arrangements]float64) {
	n := 1.0
	for i := range states {
		other := newScene(sc.frame, &states[i])
		if other.judged != sc.judged {
			continue
		}
		n++
		other.generation = sc.generation
		var weights [arrangements]float64
		other.weigh(&weights)
		for a, w := range weights {
			out[a] += w
		}
	}
	for a := range out {
		out[a] /= n
	}
}

func (p *posterior) setJudged(bits int) {
	for k := range p.judged {
		p.judged[k] = bits>>k&1 == 1
	}
}

func (p *posterior) scale(sum float64) {
	if sum == 0 {
		return
	}
	for f := range p.weights {
		for a := range p.weights[f] {
			p.weights[f][a] /= sum
		}
	}
}

// arrangementOf gives a numbered arrangement, with NoLeg where not judged.
func arrangementOf(number int, judged [3]bool) wiring.Arrangement {
	var a wiring.Arrangement
	for k, d := range digitsOf(number) {
		if judged[k] {
			a[k] = ctOf(d)
		}
	}
	return a
}
