package diagnose

import (
	"cmp"
	"slices"

	"legwork/diagnose/wiring"
)

// group is a set of arrangements that read alike, with the weight of all of
// them over the frames that put the voltage inputs alike.
type group struct {
	service wiring.Service
	state   [3]InputState
	severe  [3]bool
	members []member // likeliest first
	weight  float64
	by      [2]float64 // of which Forward, Backward
	judged  [3]bool
	frame   int // the likeliest frame of the likeliest member
}

// member is one arrangement of a group.
type member struct {
	number int
	weight float64
}

// hosts reports a frame of a group's service that puts the inputs as it does.
func (f *frame) hosts(g *group) bool { return f.service == g.service && f.state == g.state }

// lead is the likeliest arrangement of the group.
func (g *group) lead() wiring.Arrangement { return arrangementOf(g.members[0].number, g.judged) }

// leastGroup is the share below which a group isn't worth a word, and of a group
// that below which one of its members isn't.
const leastGroup = 0.002

// groups sums the posterior over frames and gathers what reads alike, the
// likeliest group first.
func (p *posterior) groups() []group {
	var all []group
	for f := range p.frames {
		if p.firstAlike(f) == f {
			all = append(all, p.groupsOf(f)...)
		}
	}
	all = acrossServices(all)
	slices.SortStableFunc(all, func(a, b group) int { return cmp.Compare(b.weight, a.weight) })
	return all
}

// acrossServices merges groups that claim the same of two services which the
// voltages can't tell apart. The likelier one's service and frame stay.
func acrossServices(all []group) []group {
	kept := all[:0]
	for _, g := range all {
		at := slices.IndexFunc(kept, func(k group) bool {
			return k.service.Name != g.service.Name && k.state == g.state && k.judged == g.judged && k.holds(g.members[0].number)
		})
		if at < 0 {
			kept = append(kept, g)
			continue
		}
		kept[at].absorb(g)
	}
	return kept
}

func (g *group) holds(number int) bool {
	return slices.ContainsFunc(g.members, func(m member) bool { return m.number == number })
}

// absorb adds the other group's members and weight.
func (g *group) absorb(other group) {
	weight := g.weight + other.weight
	if other.members[0].weight > g.members[0].weight {
		*g, other = other, *g
	}
	for _, m := range other.members {
		at := slices.IndexFunc(g.members, func(k member) bool { return k.number == m.number })
		if at < 0 {
			g.members = append(g.members, m)
			continue
		}
		g.members[at].weight += m.weight
	}
	g.weight = weight
	slices.SortStableFunc(g.members, byWeight)
}

func byWeight(a, b member) int { return cmp.Compare(b.weight, a.weight) }

// firstAlike is the first frame with the same service and states of inputs as f.
func (p *posterior) firstAlike(f int) int {
	for i := range f {
		if p.frames[i].service.Name == p.frames[f].service.Name && p.frames[i].state == p.frames[f].state {
			return i
		}
	}
	return f
}

// groupsOf gathers the frames alike to f.
func (p *posterior) groupsOf(f int) []group {
	var frames []int
	for i := f; i < len(p.frames); i++ {
		if p.firstAlike(i) == f {
			frames = append(frames, i)
		}
	}
	var sum [arrangements]float64
	var bySequence [2]float64
	for _, i := range frames {
		for a, w := range p.weights[i] {
			sum[a] += w
			bySequence[sequenceIndex(p.frames[i].sequence)] += w
		}
	}
	return p.gather(frames, &sum, bySequence)
}

func (p *posterior) gather(frames []int, sum *[arrangements]float64, bySequence [2]float64) []group {
	first := &p.frames[frames[0]]
	judged := p.judgedUnder(first)
	twins := p.twinsFor(first, judged, bySequence)
	setOf := func(a int) int {
		if twins == nil {
			return a
		}
		return int(twins[a])
	}
	var total [arrangements]float64
	for a, w := range sum {
		if set := setOf(a); set >= 0 {
			total[set] += w
		}
	}
	var index [arrangements]int16
	var all []group
	for a, w := range sum {
		set := setOf(a)
		if set < 0 || w == 0 || total[set] < leastGroup || w < leastGroup*total[set] {
			continue
		}
		if index[set] == 0 {
			all = append(all, group{service: first.service, state: first.state, severe: first.severe, judged: unpack(judged), weight: total[set]})
			index[set] = int16(len(all))
		}
		g := &all[index[set]-1]
		g.members = append(g.members, member{a, w})
	}
	all = p.splitTold(all, frames)
	p.settle(all, frames)
	return all
}

// toldApart is the ratio of the probabilities of a person's tests from which on
// they tell two arrangements apart that read alike. Our choice, no source.
const toldApart = 3

// splitTold takes out of each group the members that a test told apart from its
// likeliest one: they are explanations of their own.
func (p *posterior) splitTold(all []group, frames []int) []group {
	if p.told == nil {
		return all
	}
	for i := 0; i < len(all); i++ { // what is split off comes up again at the end
		g := &all[i]
		slices.SortStableFunc(g.members, byWeight)
		lead := p.toldOf(g.members[0].number, frames)
		apart := func(m member) bool {
			ratio := p.toldOf(m.number, frames) / lead
			return ratio > toldApart || ratio*toldApart < 1
		}
		rest := *g
		rest.members, rest.weight = nil, 0
		for _, m := range g.members {
			if apart(m) {
				rest.members = append(rest.members, m)
				rest.weight += m.weight
			}
		}
		if len(rest.members) == 0 {
			continue
		}
		g.members = slices.DeleteFunc(g.members, apart)
		g.weight -= rest.weight
		all = append(all, rest)
	}
	return all
}

// toldOf is what the tests say of an arrangement, over the frames that it has
// weight under.
func (p *posterior) toldOf(number int, frames []int) float64 {
	var told, sum float64
	for _, f := range frames {
		told += p.weights[f][number] * p.told[f][number]
		sum += p.weights[f][number]
	}
	return told / sum
}

// settle orders the members of each group and finds its likeliest frame.
func (p *posterior) settle(all []group, frames []int) {
	for i := range all {
		g := &all[i]
		slices.SortStableFunc(g.members, byWeight)
		best := -1.0
		for _, f := range frames {
			for _, m := range g.members {
				g.by[sequenceIndex(p.frames[f].sequence)] += p.weights[f][m.number]
			}
			if w := p.weights[f][g.members[0].number]; w > best {
				best, g.frame = w, f
			}
		}
	}
}

// twinsFor picks the sets for a known sequence where the voltages tell it. With
// inputs on the wrong conductor nothing reads alike, and there are none.
func (p *posterior) twinsFor(f *frame, judged int, bySequence [2]float64) *twinSets {
	for _, s := range f.state {
		if s == InputShared || s == InputNeutralCrossed {
			return nil
		}
	}
	twins := &modelOf(f.service).twins[judged]
	switch {
	case bySequence[1] == 0:
		return twins[0]
	case bySequence[0] == 0:
		return twins[1]
	}
	return twins[2]
}

func (p *posterior) judgedUnder(f *frame) int {
	bits := 0
	for k := range f.service.Channels() {
		if p.sights[k].loaded && f.usable[k] {
			bits |= 1 << k
		}
	}
	return bits
}

func unpack(bits int) [3]bool { return [3]bool{bits&1 == 1, bits&2 == 2, bits&4 == 4} }
