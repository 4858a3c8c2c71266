package asleft

import (
	"legwork/diagnose/internal/infer"
	"legwork/diagnose/internal/loadmodel"
	"legwork/diagnose/internal/prior"
)

// way is one way in which the wiring may be as left: where the CTs sit, and what load
// each leg then has.
type way struct {
	digit  [3]int
	legs   [3]load
	weight float64
}

// weigh goes through the ways and shares the probability out to the channels.
func (b *bench) weigh() {
	var sum float64
	var right, strange [3]float64
	for _, sc := range b.scenes {
		for _, w := range b.ways(sc) {
			p, other := b.likelihood(sc, &w)
			p *= w.weight
			sum += p
			for k := range b.service.Channels() {
				if w.digit[k] == 2*b.home(k) {
					right[k] += p
					strange[k] += p * other[k]
				}
			}
		}
	}
	for k := range right {
		if sum > 0 && right[k] > 0 {
			b.right[k], b.strange[k] = right[k]/sum, strange[k]/right[k]
		}
	}
}

// ways lists all ways under one sequence.
func (b *bench) ways(sc *infer.Scene) []way {
	home := [3]int{-1, -1, -1}
	for k := range b.service.Channels() {
		home[k] = 2 * b.home(k)
	}
	right := way{home, b.legs, priorRight}
	all := []way{right}
	if others := b.otherLoads(sc); len(others) > 0 {
		all[0].weight *= 1 - priorOtherWay
		for _, legs := range others {
			all = append(all, way{home, legs, priorRight * priorOtherWay / float64(len(others))})
		}
	}
	for _, was := range append([][3]int{b.was}, b.twins...) {
		all = append(all, way{was, b.loadsUnder(sc, was), priorUnmoved / float64(1+len(b.twins))})
	}
	return append(all, b.elsewhere(sc, home)...)
}

// otherLoads lists what the legs carry once the wiring is right, where it was put right by
// the voltage inputs and not by the CTs, or where a twin was so.
func (b *bench) otherLoads(sc *infer.Scene) (all [][3]load) {
	var moved [3]load
	differs := false
	for k := range b.service.Channels() {
		if d := b.was[k]; d >= 0 && d < prior.Neutral {
			moved[b.home(k)] = b.legs[d/2]
			differs = differs || d/2 != b.home(k)
		}
	}
	if differs {
		all = append(all, moved)
	}
	for _, t := range b.twins {
		all = append(all, b.loadsUnder(sc, t))
	}
	return all
}

// loadsUnder is what the legs carried, by the readings as found under an arrangement:
// phi = theta - offset.
func (b *bench) loadsUnder(sc *infer.Scene, digit [3]int) (legs [3]load) {
	for k, d := range digit {
		o := &b.found[k]
		if d < 0 || d >= prior.Neutral || !o.Loaded || o.N == 0 || legs[d/2].amps > 0 {
			continue
		}
		legs[d/2].amps = o.Amps
		for _, c := range o.List() {
			legs[d/2].angles = append(legs[d/2].angles, angle{c.Theta - sc.Offset(k, d), c.Share})
		}
	}
	return legs
}

// elsewhere lists every other arrangement of the CTs, the loads being those predicted.
func (b *bench) elsewhere(sc *infer.Scene, home [3]int) (all []way) {
	judged := 0
	for k := range b.service.Channels() {
		judged |= 1 << k
	}
	list := b.known.Lists[judged]
	q := prior.SequenceIndex(sc.Frame.Sequence)
	var sum float64
	for i := range list {
		a := &list[i]
		if a.Neutral > 0 || a.Digit == home {
			continue
		}
		all = append(all, way{a.Digit, b.legs, a.Share[q]})
		sum += a.Share[q]
	}
	for i := range all {
		share := all[i].weight/max(sum, leastElsewhere)*(1-evenShare) + evenShare/float64(len(all))
		all[i].weight = (1 - priorRight - priorUnmoved) * share
	}
	return all
}

// likelihood is the density of what is read under a way, and how far each channel's load
// is then another one.
func (b *bench) likelihood(sc *infer.Scene, w *way) (p float64, other [3]float64) {
	p = 1
	for k := range b.service.Channels() {
		if !b.judged[k] {
			continue
		}
		drifted, another := b.densities(sc, w, k)
		drifted, another = (1-otherLoad)*drifted, otherLoad*another
		if sum := drifted + another; sum > 0 {
			other[k] = another / sum
			p *= sum
		}
	}
	return p, other
}

// densities are those of what channel k reads, its load having drifted and being another.
// A channel that a way doesn't place is held against what it read as found.
func (b *bench) densities(sc *infer.Scene, w *way, k int) (drifted, another float64) {
	d, offset := w.digit[k], 0.0
	l := b.asFound(k)
	density := func(float64) float64 { return 1.0 / 360 }
	if d >= 0 {
		offset, l = sc.Offset(k, d), w.legs[d/2]
		density = func(phi float64) float64 { return angleDensity(sc, d/2, phi) }
	}
	for _, c := range b.now[k].List() {
		phi := c.Theta - offset
		drifted += c.Share * l.drifted(b.now[k].Amps, phi, density)
		another += c.Share * l.another(b.now[k].Amps, phi, density)
	}
	return drifted, another
}

// asFound is what channel k read, as the load of a leg that lies along its voltage.
func (b *bench) asFound(k int) (l load) {
	o := &b.found[k]
	l.amps = o.Amps
	for _, c := range o.List() {
		l.angles = append(l.angles, angle{c.Theta, c.Share})
	}
	return l
}

// angleDensity is how ordinary a load angle is on a leg, counted from 0, per degree.
func angleDensity(sc *infer.Scene, leg int, phi float64) float64 {
	cells := [3]int{-1, -1, -1}
	cells[sc.Axis[leg]] = loadmodel.Cell(phi)
	return sc.At(cells) / loadmodel.CellDegrees
}
