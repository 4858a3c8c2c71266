package verdict

import (
	"cmp"
	"math"
	"slices"

	"legwork/diagnose/internal/frames"
	"legwork/diagnose/internal/infer"
	"legwork/diagnose/wiring"
)

// What is neither of conductors nor of loads: the register map and the settings of
// the meter. Each is weighed against all that supposes them right.

// Blamed is one such explanation.
type Blamed struct {
	Cause  wiring.Cause
	P      float64       // 0 to 1
	Plates bool          // of a setting: the CTs' plates contradict it
	Open   bool          // of the wiring: the meter's neutral lead is open
	Ratio  *CurrentFault // of a setting: the current that does; else nil
	likely float64       // against right wiring, for a setting
}

// blame finds what is wrong beside the wiring. A wrong map stands against all that
// supposes it right; a wrong setting against right wiring alone, since with wrong
// wiring both are to be mended.
func (j *Judgement) blame() {
	if odds := j.Misread.Odds; odds > 0 {
		p := odds / (1 + odds) // the posterior of a wrong map; all else keeps 1 - p of what it had
		j.Blamed = append(j.Blamed, Blamed{Cause: wiring.ByMap, P: p})
		for i := range j.Groups {
			j.Groups[i].Scale(1 - p)
		}
	}
	j.blameOpenNeutral()
	s, ok := j.settingsBlamed()
	if !ok {
		j.blameBalance()
		return
	}
	for i := range j.Groups {
		if g := &j.Groups[i]; g.Right() { // of right wiring the share likely goes to the setting
			s.P += s.likely * g.Weight
			g.Scale(1 - s.likely)
		}
	}
	j.Blamed = append(j.Blamed, s)
	slices.SortStableFunc(j.Groups, func(a, b infer.Group) int { return cmp.Compare(b.Weight, a.Weight) })
}

// blameBalance weighs a wrong ratio of one channel against all else: a CT on the neutral
// reads like one.
func (j *Judgement) blameBalance() {
	b, ok := j.balanceBlamed()
	if !ok {
		return
	}
	for i := range j.Groups {
		j.Groups[i].Scale(1 - b.P)
	}
	b.P *= 1 - j.misreads()
	j.Blamed = append(j.Blamed, b)
}

// blameOpenNeutral weighs an open neutral lead of the meter against all else that supposes
// the map right.
func (j *Judgement) blameOpenNeutral() {
	s := j.Service
	if !j.Inferred {
		s = j.Declared
	}
	p := frames.OpenNeutral(j.Reading, s)
	if p < leastOpen {
		return
	}
	for i := range j.Groups {
		j.Groups[i].Scale(1 - p)
	}
	j.Blamed = append(j.Blamed, Blamed{Cause: wiring.ByWiring, Open: true, P: p * (1 - j.misreads())})
}

// OpenNeutral is the probability that the meter's neutral lead is open.
func (j *Judgement) OpenNeutral() (p float64) {
	for _, b := range j.Blamed {
		if b.Open {
			p += b.P
		}
	}
	return p
}

// settingsBlamed is a ratio that is set wrong, by the plates or by a clamp; its
// probability isn't known yet.
func (j *Judgement) settingsBlamed() (Blamed, bool) {
	switch {
	case j.ratingsDiffer():
		return Blamed{Cause: wiring.BySettings, Plates: true, likely: settingsLikely}, true
	case len(j.Currents) == 0:
		return Blamed{}, false
	case j.Currents[0].Over:
		odds := j.Currents[0].odds
		return Blamed{Cause: wiring.BySettings, Ratio: &j.Currents[0], likely: odds / (1 + odds)}, true
	case j.Currents[0].Neutral:
		return Blamed{Cause: wiring.BySettings, Ratio: &j.Currents[0], likely: neutralLikely}, true
	}
	return Blamed{Cause: wiring.BySettings, Ratio: &j.Currents[0], likely: settingsLikely}, true
}

// misreads is the probability that the map misreads the meter.
func (j *Judgement) misreads() float64 {
	for _, b := range j.Blamed {
		if b.Cause == wiring.ByMap {
			return b.P
		}
	}
	return 0
}

// ratingsDiffer reports that the CTs' plates and the meter's setting disagree.
func (j *Judgement) ratingsDiffer() bool {
	set, ok := j.Reading.CTPrimary.Get()
	return ok && set > 0 && j.CTPrimary > 0 && math.Abs(math.Log(set/j.CTPrimary)) >= math.Log(ratingsApart)
}
