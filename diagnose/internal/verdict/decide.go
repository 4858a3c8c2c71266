package verdict

import (
	"slices"

	"legwork/diagnose/internal/evidence"
	"legwork/diagnose/internal/loadmodel"
	"legwork/diagnose/internal/prior"
	"legwork/diagnose/wiring"
)

// Tally is how probable each cause is, of conductors as they are wired.
type Tally map[wiring.Cause]float64

func (j *Judgement) tally() Tally {
	t := Tally{}
	for _, b := range j.Blamed {
		t[b.Cause] += b.P
	}
	for i := range j.Groups {
		g := &j.Groups[i]
		if c := j.CauseOf(g); c != wiring.ByLoad || !j.DeclaredWell(c) {
			t[c] += g.Weight
		}
	}
	t[wiring.ByLoad] = max(t[wiring.ByLoad], j.otherwiseOneSided())
	return t
}

// otherwiseOneSided is the probability of a panel whose legs all lead, or lag, which
// nobody declared, with the conductors in another place than the likeliest: that it is
// one could change what is moved.
func (j *Judgement) otherwiseOneSided() (p float64) {
	g := j.Top()
	if g == nil {
		return 0
	}
	for i := range j.Worlds {
		w := &j.Worlds[i]
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

// Harms reports what makes work on conductors wrong, likely enough to hold it back.
func (t Tally) Harms() bool {
	return t[wiring.ByService]+t[wiring.ByMap]+t[wiring.ByLoad] >= MostHarm || t[wiring.ByGeneration] >= mostExport
}

// decide sets the verdict: what the likeliest explanation says, if it is likely
// enough; a voltage input that is certainly at fault decides by itself.
func (j *Judgement) decide() {
	j.Verdict = wiring.Undecided
	least := j.Decide
	t := j.tally()
	j.Causes = t
	switch {
	case j.Unpowered() && (!j.Carries() || j.Inferred): // there is nothing to judge
		return
	case j.Stops() && j.Neutral >= least: // danger comes first
		j.Verdict = wiring.Fault
		return
	case t[wiring.ByMap]+t[wiring.ByService] >= 0.5, j.Strange:
		return
	case t[wiring.BySettings] >= least && !j.onlyAsked():
		j.Verdict = wiring.Fault
		return
	case len(j.Faults)+len(j.Currents) > 0 || j.UnusedCurrent() > 0:
		// what contradicts a verdict never stands beside it
		if !j.faultStands(least, t) {
			return
		}
	}
	if j.faultStands(least, t) {
		j.Verdict = wiring.Fault
		return
	}
	if j.RightShare() >= least && j.neutralShare() < mostNeutral && j.Top() != nil && j.Top().AllJudged() && !j.Stops() && j.ledByRight() &&
		!j.contradicted() && !j.PolarityOpen() {
		j.Verdict = wiring.Agrees
	}
}

// PolarityOpen reports a channel the readings of which would be the same with its CT turned
// round, such as a power factor whose sign says nothing of power, while no look or load step
// told: how seldom CTs are turned isn't evidence of this one.
func (j *Judgement) PolarityOpen() bool {
	for k := range j.Service.Channels() {
		seen := slices.ContainsFunc(j.History.States, func(s evidence.State) bool { return !s.Observed[k].TurnedAlike() })
		told := slices.ContainsFunc(j.Findings, func(f wiring.Finding) bool {
			return f.Channel == k+1 && (f.Test == wiring.Look || f.Test == wiring.LoadStep)
		})
		if !seen && !told {
			return true
		}
	}
	return false
}

// Contradicting lists the tests of a person's that the likeliest explanation contradicts;
// a clamp is weighed by itself (ratio.go).
func (j *Judgement) Contradicting() (all []wiring.Finding) {
	g := j.Top()
	if g == nil || !g.AnyJudged() {
		return nil
	}
	for i := range j.Findings {
		if f := &j.Findings[i]; f.Test != wiring.ClampTest && g.Contradicts(f) {
			all = append(all, *f)
		}
	}
	return all
}

// contradicted reports one that says that a conductor isn't where the readings have it; a
// sequence turns nothing.
func (j *Judgement) contradicted() bool {
	return slices.ContainsFunc(j.Contradicting(), func(f wiring.Finding) bool { return f.Test != wiring.SequenceTest })
}

// onlyAsked reports that the legs' balance, or a current above the CT's rating, alone speaks of
// a wrong setting.
func (j *Judgement) onlyAsked() bool {
	return len(j.Currents) > 0 && j.Currents[0].asked() && !j.ratingsDiffer()
}

// faultStands reports a fault of the wiring that is likely enough, while what would
// make its moves wrong is unlikely.
func (j *Judgement) faultStands(least float64, t Tally) bool {
	g := j.Top()
	if g == nil {
		return false
	}
	if j.inputFault() >= least && t[wiring.ByService]+t[wiring.ByMap] < MostHarm {
		return true
	}
	if !g.OnNeutral() && j.neutralShare() >= mostNeutralFault {
		return false
	}
	return g.AnyJudged() && !g.Right() && j.CauseOf(g) == wiring.ByWiring && g.Weight >= least && !t.Harms()
}

// RightShare is the probability of right wiring, whatever the load.
func (j *Judgement) RightShare() float64 {
	var p float64
	for i := range j.Groups {
		if g := &j.Groups[i]; g.Right() && j.CauseOf(g) != wiring.ByService {
			p += g.Weight
		}
	}
	return p
}

// neutralShare is the probability that some CT is on the neutral.
func (j *Judgement) neutralShare() float64 {
	var p float64
	for i := range j.Groups {
		if j.Groups[i].OnNeutral() {
			p += j.Groups[i].Weight
		}
	}
	return p
}

// ledByRight reports that the likeliest explanation is right wiring which needs no
// question: under an ordinary load, or one that was declared.
func (j *Judgement) ledByRight() bool {
	g := j.Top()
	return g.Right() && !g.AnySevere() && j.DeclaredWell(j.CauseOf(g))
}

// UnusedCurrent is the channel, counted from 1, that carries current and that the
// service has no use for; 0 for none.
func (j *Judgement) UnusedCurrent() int {
	for k := j.Service.Channels(); k < len(j.Reading.Channels); k++ {
		if j.Reading.Channels[k].Current.Or(0) >= j.MinCurrent {
			return k + 1
		}
	}
	return 0
}

// inputFault is the probability that some voltage input is at fault.
func (j *Judgement) inputFault() float64 {
	var p, sum float64
	for i := range j.Groups {
		g := &j.Groups[i]
		sum += g.Weight
		if j.CauseOf(g) != wiring.ByService && (g.InputsMislanded() || g.AnySevere()) {
			p += g.Weight
		}
	}
	if sum == 0 {
		return 0
	}
	return p / sum
}

// PlaceShare is the probability that channel k is where the likeliest group
// puts it; the members of one group, which read alike, count together.
func (j *Judgement) PlaceShare(k int) float64 {
	want := j.Top().Lead()[k]
	var p, sum float64
	for i := range j.Groups {
		g := &j.Groups[i]
		sum += g.Weight
		for _, m := range g.Members {
			if i == 0 || (g.Judged[k] && prior.ArrangementOf(m.Number, g.Judged)[k] == want) {
				p += m.Weight
			}
		}
	}
	return p / sum
}
