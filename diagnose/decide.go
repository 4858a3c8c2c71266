package diagnose

import (
	"legwork/diagnose/internal/infer"
	"legwork/diagnose/internal/loadmodel"
)

// mostHarm is the probability, of all worlds together in which a move would be wrong,
// from which on none is advised and the question that settles it comes first: our
// choice. With it a wrong wiring was called on less than 1 % of exporting panels in
// a study of ours.
const mostHarm = 0.02

// The probability of a CT on the neutral from which on right wiring, or another fault,
// isn't called: it reads like a leg of its own so often that nine in ten isn't enough.
// A fault that is called is looked at before anything is moved. Our choice.
const (
	mostNeutral      = 0.02
	mostNeutralFault = 0.04
)

// tally is how probable each cause is, of conductors as they are wired.
type tally map[Cause]float64

func (j *judgement) tally() tally {
	t := tally{}
	for _, b := range j.blamed {
		t[b.cause] += b.p
	}
	for i := range j.groups {
		g := &j.groups[i]
		if c := j.causeOf(g); c != CauseLoad || !j.options.declaredWell(c) {
			t[c] += g.Weight
		}
	}
	t[CauseLoad] = max(t[CauseLoad], j.otherwiseOneSided())
	return t
}

// otherwiseOneSided is the probability of a panel whose legs all lead, or lag, which
// nobody declared, with the conductors in another place than the likeliest: that it is
// one could change what is moved.
func (j *judgement) otherwiseOneSided() (p float64) {
	g := j.top()
	if g == nil {
		return 0
	}
	for i := range j.worlds {
		w := &j.worlds[i]
		if s := w.Posterior.Sort; s.Panel != loadmodel.OneSided || s.Declared != 0 {
			continue
		}
		for f := range w.Posterior.Frames {
			hosted := g.HostedBy(&w.Posterior.Frames[f])
			for number, weight := range w.Posterior.Weights[f] {
				if weight > 0 && !(hosted && g.Holds(number)) {
					p += w.Share * weight
				}
			}
		}
	}
	return p
}

// mostExport is the same of power that flows back by itself: a question is asked from
// there on. Higher, since all CTs reversed is the commoner by far: our choice.
const mostExport = 0.045

// harms reports what makes work on conductors wrong, likely enough to hold it back.
func (t tally) harms() bool {
	return t[CauseService]+t[CauseMap]+t[CauseLoad] >= mostHarm || t[CauseGeneration] >= mostExport
}

// decide sets the verdict: what the likeliest explanation says, if it is likely
// enough; a voltage input that is certainly at fault decides by itself.
func (j *judgement) decide() {
	j.verdict = Undecided
	least := j.options.decide()
	t := j.tally()
	j.causes = t
	switch {
	case j.stops() && j.neutral >= least: // danger comes first
		j.verdict = Fault
		return
	case t[CauseMap]+t[CauseService] >= 0.5:
		return
	case t[CauseSettings] >= least:
		j.verdict = Fault
		return
	case len(j.faults) > 0 || j.unusedCurrent() > 0:
		// what contradicts a verdict never stands beside it
		if !j.faultStands(least, t) {
			return
		}
	}
	if j.faultStands(least, t) {
		j.verdict = Fault
		return
	}
	if j.rightShare() >= least && j.neutralShare() < mostNeutral && j.top() != nil && j.top().AllJudged() && !j.stops() && j.ledByRight() {
		j.verdict = Agrees
	}
}

// faultStands reports a fault of the wiring that is likely enough, while what would
// make its moves wrong is unlikely.
func (j *judgement) faultStands(least float64, t tally) bool {
	g := j.top()
	if g == nil {
		return false
	}
	if j.inputFault() >= least && t[CauseService]+t[CauseMap] < mostHarm {
		return true
	}
	if !g.OnNeutral() && j.neutralShare() >= mostNeutralFault {
		return false
	}
	return g.AnyJudged() && !g.Right() && j.causeOf(g) == CauseWiring && g.Weight >= least && !t.harms()
}

// rightShare is the probability of right wiring, whatever the load.
func (j *judgement) rightShare() float64 {
	var p float64
	for i := range j.groups {
		if g := &j.groups[i]; g.Right() && j.causeOf(g) != CauseService {
			p += g.Weight
		}
	}
	return p
}

// neutralShare is the probability that some CT is on the neutral.
func (j *judgement) neutralShare() float64 {
	var p float64
	for i := range j.groups {
		if j.groups[i].OnNeutral() {
			p += j.groups[i].Weight
		}
	}
	return p
}

// ledByRight reports that the likeliest explanation is right wiring which needs no
// question: under an ordinary load, or one that was declared.
func (j *judgement) ledByRight() bool {
	g := j.top()
	return g.Right() && !g.AnySevere() && j.options.declaredWell(j.causeOf(g))
}

// unusedCurrent is the channel, counted from 1, that carries current and that the
// service has no use for; 0 for none.
func (j *judgement) unusedCurrent() int {
	for k := j.service.Channels(); k < len(j.channels); k++ {
		if j.channels[k].Current.Or(0) >= j.options.minCurrent() {
			return k + 1
		}
	}
	return 0
}

// inputFault is the probability that some voltage input is at fault.
func (j *judgement) inputFault() float64 {
	var p, sum float64
	for i := range j.groups {
		g := &j.groups[i]
		sum += g.Weight
		if j.causeOf(g) != CauseService && (g.InputsMislanded() || g.AnySevere()) {
			p += g.Weight
		}
	}
	if sum == 0 {
		return 0
	}
	return p / sum
}

// leads is the likeliest explanation: blamed, or else the first group.
func (j *judgement) leads() (*blamed, *infer.Group) {
	g := j.top()
	for i := range j.blamed {
		if b := &j.blamed[i]; g == nil || b.p >= g.Weight {
			return b, nil
		}
	}
	return nil, g
}
