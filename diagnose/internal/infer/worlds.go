package infer

import (
	"cmp"
	"math"
	"slices"

	"legwork/diagnose/internal/evidence"
	"legwork/diagnose/internal/frames"
	"legwork/diagnose/internal/loadmodel"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// A world is what is taken for granted: a sort of panel, in which the arrangements
// are weighed. The posterior runs over both,
//
//	p(world, arrangement | readings) = p(world) p(readings | world) p(arrangement | world, readings) / sum

// World is a sort of panel with its prior.
type World struct {
	Sort  loadmodel.Sort
	Prior float64
}

// Weighed is a world with the posterior over arrangements in it.
type Weighed struct {
	Posterior Posterior
	Share     float64 // of all worlds, 0 to 1
}

// Case is what a world is weighed by.
type Case struct {
	Frames   []frames.Frame
	History  *evidence.History
	Signed   bool          // the reactive register has a sign
	Neutral  reading.Value // A rms, by a register of its own
	Findings []wiring.Finding
}

// Weigh infers in one world.
func (c *Case) Weigh(w World) (p Posterior, steps int) {
	p, steps = Weigh(c.Frames, c.History, c.Signed, w.Sort)
	if amps, ok := c.Neutral.Get(); ok {
		p.WeighNeutral(amps)
	}
	p.WeighFindings(c.Findings)
	p.Evidence += math.Log(w.Prior)
	return p, steps
}

// ShareOut gives each world its share, by prior and evidence.
func ShareOut(all []Weighed) {
	most := math.Inf(-1)
	for i := range all {
		most = math.Max(most, all[i].Posterior.Evidence)
	}
	var sum float64
	for i := range all {
		all[i].Share = 0
		if !math.IsInf(most, -1) {
			all[i].Share = math.Exp(all[i].Posterior.Evidence - most)
		}
		sum += all[i].Share
	}
	for i := range all {
		if sum > 0 {
			all[i].Share /= sum
		} else if i == 0 {
			all[i].Share = 1 // nothing was judged in any
		}
	}
}

// Across gathers the groups of all worlds, the likeliest first. What claims the same
// work on conductors is one group, whatever the world; that nothing is wrong with
// them is a group in each world of its own, since the worlds differ in it.
func Across(all []Weighed, merge bool) []Group {
	var list []Group
	for i := range all {
		for _, g := range all[i].Posterior.Groups(merge) {
			g.Scale(all[i].Share)
			at := -1
			if !g.Right() {
				at = slices.IndexFunc(list, func(k Group) bool { return k.sameClaim(&g) })
			}
			if at < 0 {
				list = append(list, g)
			} else {
				list[at].Absorb(g)
			}
		}
	}
	for i := range list {
		g := &list[i]
		g.Members = slices.DeleteFunc(g.Members, func(m Member) bool { return m.Weight < leastGroup*g.Weight && m != g.Members[0] })
	}
	slices.SortStableFunc(list, func(a, b Group) int { return cmp.Compare(b.Weight, a.Weight) })
	return list
}

// sameClaim reports groups that ask for the same work.
func (g *Group) sameClaim(o *Group) bool {
	return g.Service.Name == o.Service.Name && g.State == o.State && g.Judged == o.Judged && !g.Right() && g.Holds(o.Members[0].Number)
}

// Scale multiplies the weight of the group and of its members.
func (g *Group) Scale(share float64) {
	g.Weight *= share
	g.by[0], g.by[1] = g.by[0]*share, g.by[1]*share
	g.Members = slices.Clone(g.Members)
	for i := range g.Members {
		g.Members[i].Weight *= share
	}
}
