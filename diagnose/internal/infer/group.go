package infer

import (
	"cmp"
	"slices"

	"legwork/diagnose/internal/frames"
	"legwork/diagnose/internal/prior"
	"legwork/diagnose/wiring"
)

// Group is a set of arrangements that read alike, with the weight of all of
// them over the frames that put the voltage inputs alike. A CT on the neutral counts
// whichever way round it sits: it is moved all the same.
type Group struct {
	Service wiring.Service
	State   [3]wiring.InputState
	Severe  [3]bool
	Members []Member // likeliest first
	Weight  float64
	by      [2]float64 // of which Forward, Backward
	Judged  [3]bool
	Frame   int        // the likeliest frame of the likeliest member
	Of      *Posterior // that the frame is of
}

// Member is one arrangement of a group.
type Member struct {
	Number int
	Weight float64
}

// HostedBy reports a frame of a group's service that puts the inputs as it does.
func (g *Group) HostedBy(f *frames.Frame) bool { return f.Service == g.Service && f.State == g.State }

// Lead is the likeliest arrangement of the group.
func (g *Group) Lead() wiring.Arrangement { return prior.ArrangementOf(g.Members[0].Number, g.Judged) }

// Twins are the members, other than the likeliest, that ask for other work.
func (g *Group) Twins() (all []Member) {
	done := []int{prior.EitherWay(g.Members[0].Number)}
	for _, m := range g.Members[1:] {
		if work := prior.EitherWay(m.Number); !slices.Contains(done, work) {
			all, done = append(all, m), append(done, work)
		}
	}
	return all
}

// WayOpen reports a CT on the neutral that may sit either way round.
func (g *Group) WayOpen() bool {
	lead := g.Members[0].Number
	return slices.ContainsFunc(g.Members[1:], func(m Member) bool { return prior.EitherWay(m.Number) == prior.EitherWay(lead) })
}

// Groups sums the posterior over frames and gathers what reads alike, the
// likeliest group first.
// Services that weren't declared are merged where the voltages can't tell them apart.
func (p *Posterior) Groups(merge bool) []Group {
	var all []Group
	for f := range p.Frames {
		if p.firstAlike(f) == f {
			all = append(all, p.groupsOf(f)...)
		}
	}
	if merge {
		all = acrossServices(all)
	}
	for i := range all {
		all[i].Of = p
	}
	slices.SortStableFunc(all, func(a, b Group) int { return cmp.Compare(b.Weight, a.Weight) })
	return all
}

// acrossServices merges groups that claim the same of two services which the
// voltages can't tell apart. The likelier one's service and frame stay.
func acrossServices(all []Group) []Group {
	kept := all[:0]
	for _, g := range all {
		at := slices.IndexFunc(kept, func(k Group) bool {
			return k.Service.Name != g.Service.Name && k.State == g.State && k.Judged == g.Judged && k.Holds(g.Members[0].Number)
		})
		if at < 0 {
			kept = append(kept, g)
			continue
		}
		kept[at].Absorb(g)
	}
	return kept
}

func (g *Group) Holds(number int) bool {
	return slices.ContainsFunc(g.Members, func(m Member) bool { return m.Number == number })
}

// Absorb adds the other group's members and weight.
func (g *Group) Absorb(other Group) {
	weight := g.Weight + other.Weight
	if other.Members[0].Weight > g.Members[0].Weight {
		*g, other = other, *g
	}
	g.by[0], g.by[1] = g.by[0]+other.by[0], g.by[1]+other.by[1]
	for _, m := range other.Members {
		at := slices.IndexFunc(g.Members, func(k Member) bool { return k.Number == m.Number })
		if at < 0 {
			g.Members = append(g.Members, m)
			continue
		}
		g.Members[at].Weight += m.Weight
	}
	g.Weight = weight
	slices.SortStableFunc(g.Members, byWeight)
}

func byWeight(a, b Member) int { return cmp.Compare(b.Weight, a.Weight) }

// firstAlike is the first frame with the same service and states of inputs as f.
func (p *Posterior) firstAlike(f int) int {
	for i := range f {
		if p.Frames[i].Service.Name == p.Frames[f].Service.Name && p.Frames[i].State == p.Frames[f].State {
			return i
		}
	}
	return f
}

// groupsOf gathers the frames alike to f.
func (p *Posterior) groupsOf(f int) []Group {
	var frames []int
	for i := f; i < len(p.Frames); i++ {
		if p.firstAlike(i) == f {
			frames = append(frames, i)
		}
	}
	var sum [prior.Arrangements]float64
	var bySequence [2]float64
	for _, i := range frames {
		for a, w := range p.Weights[i] {
			sum[a] += w
			bySequence[prior.SequenceIndex(p.Frames[i].Sequence)] += w
		}
	}
	return p.gather(frames, &sum, bySequence)
}

func (p *Posterior) gather(frames []int, sum *[prior.Arrangements]float64, bySequence [2]float64) []Group {
	first := &p.Frames[frames[0]]
	judged := p.JudgedUnder(first)
	twins := p.twinsFor(first, judged, bySequence)
	setOf := func(a int) int {
		a = prior.EitherWay(a)
		if twins == nil {
			return a
		}
		return int(twins[a])
	}
	var total [prior.Arrangements]float64
	for a, w := range sum {
		if w == 0 {
			continue
		}
		if set := setOf(a); set >= 0 {
			total[set] += w
		}
	}
	var index [prior.Arrangements]int16
	var all []Group
	for a, w := range sum {
		if w == 0 {
			continue
		}
		set := setOf(a)
		if set < 0 || total[set] < leastGroup || w < leastGroup*total[set] {
			continue
		}
		if index[set] == 0 {
			all = append(all, Group{Service: first.Service, State: first.State, Severe: first.Severe, Judged: unpack(judged), Weight: total[set]})
			index[set] = int16(len(all))
		}
		g := &all[index[set]-1]
		g.Members = append(g.Members, Member{a, w})
	}
	all = p.splitByFindings(all, frames)
	p.settle(all, frames)
	return all
}

// splitByFindings takes out of each group the members that a test findings apart from its
// likeliest one: they are explanations of their own.
func (p *Posterior) splitByFindings(all []Group, frames []int) []Group {
	if p.findings == nil {
		return all
	}
	for i := 0; i < len(all); i++ { // what is split off comes up again at the end
		g := &all[i]
		slices.SortStableFunc(g.Members, byWeight)
		lead := p.findingsOf(g.Members[0].Number, frames)
		apart := func(m Member) bool {
			ratio := p.findingsOf(m.Number, frames) / lead
			return ratio > findingsApart || ratio*findingsApart < 1
		}
		rest := *g
		rest.Members, rest.Weight = nil, 0
		for _, m := range g.Members {
			if apart(m) {
				rest.Members = append(rest.Members, m)
				rest.Weight += m.Weight
			}
		}
		if len(rest.Members) == 0 {
			continue
		}
		g.Members = slices.DeleteFunc(g.Members, apart)
		g.Weight -= rest.Weight
		all = append(all, rest)
	}
	return all
}

// findingsOf is what the tests say of an arrangement, over the frames that it has
// weight under.
func (p *Posterior) findingsOf(number int, frames []int) float64 {
	var findings, sum float64
	for _, f := range frames {
		findings += p.Weights[f][number] * p.findings[f][number]
		sum += p.Weights[f][number]
	}
	return findings / sum
}

// settle orders the members of each group and finds its likeliest frame.
func (p *Posterior) settle(all []Group, frames []int) {
	for i := range all {
		g := &all[i]
		slices.SortStableFunc(g.Members, byWeight)
		best := -1.0
		for _, f := range frames {
			for _, m := range g.Members {
				g.by[prior.SequenceIndex(p.Frames[f].Sequence)] += p.Weights[f][m.Number]
			}
			if w := p.Weights[f][g.Members[0].Number]; w > best {
				best, g.Frame = w, f
			}
		}
	}
}

// twinsFor picks the sets for a known sequence where the voltages tell it. With
// inputs on the wrong conductor nothing reads alike, and there are none.
func (p *Posterior) twinsFor(f *frames.Frame, judged int, bySequence [2]float64) *prior.TwinSets {
	for _, s := range f.State {
		if s == wiring.InputShared || s == wiring.InputNeutralCrossed {
			return nil
		}
	}
	twins := &f.Model.Twins[judged]
	switch {
	case bySequence[1] == 0:
		return twins[0]
	case bySequence[0] == 0:
		return twins[1]
	}
	return twins[2]
}

func (p *Posterior) JudgedUnder(f *frames.Frame) int {
	bits := 0
	for k := range f.Service.Channels() {
		if p.Observed[k].Loaded && f.Usable[k] {
			bits |= 1 << k
		}
	}
	return bits
}

func unpack(bits int) [3]bool { return [3]bool{bits&1 == 1, bits&2 == 2, bits&4 == 4} }
