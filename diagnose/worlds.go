package diagnose

import (
	"cmp"
	"slices"

	"legwork/diagnose/internal/evidence"
	"legwork/diagnose/internal/frames"
	"legwork/diagnose/internal/infer"
	"legwork/diagnose/internal/loadmodel"
	"legwork/diagnose/wiring"
)

// What is taken for granted is a part of what is weighed: the service, the register
// map, what the panel's loads are and whether power flows back. A declaration has a
// high prior, and never one of one. Other worlds are weighed where the readings fit
// the ordinary one badly or leave it open.

// Priors of worlds. Our choice, no source.
const (
	exportUnknown  = 0.05   // nothing was said of generation
	exportNone     = 0.0008 // none was declared
	exportPossible = 0.45
	leadUnknown    = 0.04 // a one-sided panel, nothing said of loads
	leadUnlikely   = 0.02 // loads were declared, and it is one-sided by others
	leadLikely     = 0.35 // a load that leads was declared
	lagLikely      = 0.15 // motors alone were declared
	otherLoads     = 0.15 // loads were declared, and others are there
)

// plainShare is the share of right wiring in the ordinary world from which on no
// other is weighed. Our choice.
const plainShare = 0.97

// leadDegrees is the lead of every leg from which on a panel is one that leads.
const leadDegrees = 15.0

// weigh fills the worlds and their groups.
func (c *Case) weigh(j *judgement) {
	r := &c.last
	j.services, j.inferred = servicesOf(r, c.options.Service)
	in := infer.Case{History: &c.history, Signed: c.signed, Findings: c.options.Findings}
	known := c.options.Tables.known
	if j.inferred {
		for _, s := range j.services {
			in.Frames = append(in.Frames, frames.Of(r, s, known)...)
		}
	} else {
		j.declared = j.services[0]
		in.Frames, j.rivals = frames.OfDeclared(r, j.declared, known)
	}
	frames.EvenShares(in.Frames)

	worlds := c.options.worlds()
	j.worlds = make([]infer.Weighed, 1, len(worlds))
	j.worlds[0].Posterior, j.steps = in.Weigh(worlds[0])
	j.worlds[0].Share = 1
	j.groups = infer.Across(j.worlds, j.inferred)
	if j.ordinary() {
		return
	}
	for _, w := range worlds[1:] {
		p, _ := in.Weigh(w)
		j.worlds = append(j.worlds, infer.Weighed{Posterior: p})
	}
	infer.ShareOut(j.worlds)
	j.groups = infer.Across(j.worlds, j.inferred)
	j.foldRight()
}

// worlds lists what may be behind the meter, the ordinary first: loads as declared.
func (o Options) worlds() []infer.World {
	declared := kindsOf(o.Load)
	export := o.Generation.prior()
	all := []infer.World{
		{Sort: loadmodel.Sort{Declared: declared}, Prior: 1},
		{Sort: loadmodel.Sort{Panel: loadmodel.Exporting}, Prior: export},
	}
	oneSided := func(as loadmodel.Kinds, prior float64) {
		all = append(all, infer.World{Sort: loadmodel.Sort{Panel: loadmodel.OneSided, Declared: as}, Prior: prior})
	}
	if declared == 0 {
		oneSided(0, leadUnknown)
	} else {
		all = append(all, infer.World{Prior: otherLoads * (1 - export)})
		oneSided(0, leadUnlikely)
		if declared.MayLean() {
			oneSided(declared&loadmodel.Leaning, leadPrior(declared))
		}
	}
	for _, w := range all[1:] {
		all[0].Prior -= w.Prior
	}
	return all
}

// foldRight makes one group of right wiring with the same cause in several worlds.
func (j *judgement) foldRight() {
	kept := j.groups[:0]
	for _, g := range j.groups {
		at := slices.IndexFunc(kept, func(k infer.Group) bool {
			return g.Right() && k.Right() && k.Service.Name == g.Service.Name && k.State == g.State && k.Judged == g.Judged && j.causeOf(&k) == j.causeOf(&g)
		})
		if at < 0 {
			kept = append(kept, g)
		} else {
			kept[at].Absorb(g)
		}
	}
	j.groups = kept
	slices.SortStableFunc(j.groups, func(a, b infer.Group) int { return cmp.Compare(b.Weight, a.Weight) })
}

// ordinary reports right wiring in the ordinary world, under loads that aren't odd.
func (j *judgement) ordinary() bool {
	g := j.top()
	if g == nil || !g.AnyJudged() {
		return true
	}
	return g.Right() && g.Weight >= plainShare && !allLead(&j.worlds[0].Posterior.Observed)
}

// allLead reports channels that all lead for certain, as far as they are loaded.
func allLead(observed *[3]evidence.Observation) bool {
	loaded := false
	for k := range observed {
		o := &observed[k]
		if !o.Loaded {
			continue
		}
		loaded = true
		for _, c := range o.List() {
			if c.Theta > -leadDegrees || c.Theta < -100 {
				return false
			}
		}
	}
	return loaded
}

// prior is that of a panel which exports.
func (g Generation) prior() float64 {
	switch g {
	case GenerationNone:
		return exportNone
	case GenerationPossible:
		return exportPossible
	}
	return exportUnknown
}

func leadPrior(declared loadmodel.Kinds) float64 {
	if declared.MayLead() {
		return leadLikely
	}
	return lagLikely
}

func kindsOf(all []LoadSort) (kinds loadmodel.Kinds) {
	of := map[LoadSort]loadmodel.Kinds{Motors: loadmodel.Motors, Heating: loadmodel.Heating, Lighting: loadmodel.Lighting,
		Electronics: loadmodel.Electronics, Drives: loadmodel.Drives, Capacitors: loadmodel.Capacitors}
	for _, s := range all {
		kinds |= of[s]
	}
	return kinds
}

// causeOf is what a group blames.
func (j *judgement) causeOf(g *infer.Group) Cause {
	switch {
	case !j.inferred && g.Service.Name != j.declared.Name:
		return CauseService
	case !g.Right():
		return CauseWiring
	case g.Of.Sort.Panel == loadmodel.Exporting:
		return CauseGeneration
	case g.Of.Sort.Panel == loadmodel.OneSided || allLead(&g.Of.Observed):
		return CauseLoad
	}
	return CauseWiring
}

// declaredWell reports a cause that a declaration of the person's has made known.
func (o Options) declaredWell(c Cause) bool {
	switch c {
	case wiring.ByGeneration:
		return o.Generation == GenerationPossible
	case wiring.ByLoad:
		return kindsOf(o.Load).MayLean()
	}
	return true
}
