package verdict

import (
	"cmp"
	"slices"

	"legwork/diagnose/internal/evidence"
	"legwork/diagnose/internal/frames"
	"legwork/diagnose/internal/infer"
	"legwork/diagnose/internal/loadmodel"
	"legwork/diagnose/internal/prior"
	"legwork/diagnose/wiring"
)

// What is taken for granted is a part of what is weighed: the service, the register
// map, what the panel's loads are and whether power flows back. A declaration has a
// high prior, and never one of one. Other worlds are weighed where the readings fit
// the ordinary one badly or leave it open.

// weigh fills the worlds and their groups.
func (j *Judgement) weigh(known *prior.Tables) {
	r := j.Reading
	var fits bool
	j.Services, j.Inferred, fits = servicesOf(r, j.Asked)
	j.Strange = !fits && !j.Unpowered()
	in := infer.Case{History: j.History, Signed: j.Signed, Neutral: r.NeutralCurrent, Findings: j.Findings}
	if j.Inferred {
		for _, s := range j.Services {
			in.Frames = append(in.Frames, frames.Of(r, s, known)...)
		}
	} else {
		j.Declared = j.Services[0]
		in.Frames = frames.OfDeclared(r, j.Declared, known)
		if j.Unpowered() { // no voltage speaks of any service
			in.Frames = frames.Of(r, j.Declared, known)
		}
	}
	frames.EvenShares(in.Frames)

	worlds := j.worlds()
	j.Worlds = make([]infer.Weighed, 1, len(worlds))
	j.Worlds[0].Posterior, j.Steps = in.Weigh(worlds[0])
	j.Worlds[0].Share = 1
	j.Groups = infer.Across(j.Worlds, j.Inferred)
	if j.ordinary() {
		return
	}
	for _, w := range worlds[1:] {
		p, _ := in.Weigh(w)
		j.Worlds = append(j.Worlds, infer.Weighed{Posterior: p})
	}
	infer.ShareOut(j.Worlds)
	j.Groups = infer.Across(j.Worlds, j.Inferred)
	j.foldRight()
}

// worlds lists what may be behind the meter, the ordinary first: loads as declared.
func (j *Judgement) worlds() []infer.World {
	declared := j.Loads
	export := exportPrior(j.Generation)
	if j.History.BackAllDay() {
		export *= tireless
	}
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
func (j *Judgement) foldRight() {
	kept := j.Groups[:0]
	for _, g := range j.Groups {
		at := slices.IndexFunc(kept, func(k infer.Group) bool {
			return g.Right() && k.Right() && k.Service.Name == g.Service.Name && k.State == g.State && k.Judged == g.Judged && j.CauseOf(&k) == j.CauseOf(&g)
		})
		if at < 0 {
			kept = append(kept, g)
		} else {
			kept[at].Absorb(g)
		}
	}
	j.Groups = kept
	slices.SortStableFunc(j.Groups, func(a, b infer.Group) int { return cmp.Compare(b.Weight, a.Weight) })
}

// ordinary reports right wiring in the ordinary world, under loads that aren't odd.
func (j *Judgement) ordinary() bool {
	g := j.Top()
	if g == nil || !g.AnyJudged() {
		return true
	}
	return g.Right() && g.Weight >= plainShare && !allLead(&j.Worlds[0].Posterior.Observed)
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
			if c.Theta > -LeadDegrees || c.Theta < -100 {
				return false
			}
		}
	}
	return loaded
}

// exportPrior is that of a panel which exports.
func exportPrior(g wiring.Generation) float64 {
	switch g {
	case wiring.GenerationNone:
		return exportNone
	case wiring.GenerationPossible:
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

// CauseOf is what a group blames.
func (j *Judgement) CauseOf(g *infer.Group) wiring.Cause {
	switch {
	case !j.Inferred && g.Service.Name != j.Declared.Name:
		return wiring.ByService
	case !g.Right():
		return wiring.ByWiring
	case g.Of.Sort.Panel == loadmodel.Exporting:
		return wiring.ByGeneration
	case g.Of.Sort.Panel == loadmodel.OneSided || allLead(&g.Of.Observed):
		return wiring.ByLoad
	}
	return wiring.ByWiring
}

// DeclaredWell reports a cause that a declaration of the person's has made known.
func (j *Judgement) DeclaredWell(c wiring.Cause) bool {
	switch c {
	case wiring.ByGeneration:
		return j.Generation == wiring.GenerationPossible
	case wiring.ByLoad:
		return j.Loads.MayLean()
	}
	return true
}
