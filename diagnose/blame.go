package diagnose

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"legwork/diagnose/internal/evidence"
	"legwork/diagnose/internal/infer"
	"legwork/probe/reading"
)

// What is neither of conductors nor of loads: the register map and the settings of
// the meter. Each is weighed against all that supposes them right.

// blamed is one such explanation.
type blamed struct {
	cause  Cause
	p      float64 // 0 to 1
	likely float64 // against right wiring, for a setting
	words  string  // "the register map misreads the meter", in a clause
	mends  []Mend
	ask    string // what to do about it, in a sentence
}

// settingsLikely is the probability that a ratio is set wrong where two ratings, or a
// clamp and the meter, disagree by what a rating would make: our choice. The rest is a
// core that isn't closed, or a slip of the clamp.
const settingsLikely = 0.93

// neutralLikely is the same where the neutral's current alone contradicts the legs':
// it may have been read at another instant.
const neutralLikely = 0.6

// ratingsApart is the ratio of two ratings from which on they disagree.
const ratingsApart = 1.02

// blame finds what is wrong beside the wiring. A wrong map stands against all that
// supposes it right; a wrong setting against right wiring alone, since with wrong
// wiring both are to be mended.
func (j *judgement) blame() {
	if odds := j.misread.Odds; odds > 0 {
		p := odds / (1 + odds)
		j.blamed = append(j.blamed, j.mapBlamed(p))
		for i := range j.groups {
			j.groups[i].Scale(1 - p)
		}
	}
	s, ok := j.settingsBlamed()
	if !ok {
		return
	}
	for i := range j.groups {
		if g := &j.groups[i]; g.Right() {
			s.p += s.likely * g.Weight
			g.Scale(1 - s.likely)
		}
	}
	j.blamed = append(j.blamed, s)
	slices.SortStableFunc(j.groups, func(a, b infer.Group) int { return cmp.Compare(b.Weight, a.Weight) })
}

// settingsBlamed is a ratio that is set wrong, by the plates or by a clamp; its
// probability isn't known yet.
func (j *judgement) settingsBlamed() (blamed, bool) {
	if words, ok := j.ratingWords(); ok {
		return blamed{cause: CauseSettings, likely: settingsLikely, words: words, ask: "Read the rating on the CTs' plates and the CT ratio that is set in the meter; " +
			"set the meter to the plates, and write it down"}, true
	}
	if len(j.currents) == 0 {
		return blamed{}, false
	}
	d := j.currents[0]
	likely := settingsLikely
	if d.fromNeutral {
		likely = neutralLikely
	}
	return blamed{cause: CauseSettings, likely: likely, words: fmt.Sprintf("the CT ratio of %s is wrong: %s", d.Point, d.Fault),
		ask: "Compare the plate of that CT with the ratio set in the meter, and see that its core is closed round all of its conductor"}, true
}

// misreads is the probability that the map misreads the meter.
func (j *judgement) misreads() float64 {
	for _, b := range j.blamed {
		if b.cause == CauseMap {
			return b.p
		}
	}
	return 0
}

func (j *judgement) mapBlamed(p float64) blamed {
	b := blamed{cause: CauseMap, p: p, words: "the register map misreads the meter", mends: []Mend{}}
	if len(j.faults) > 0 {
		for _, f := range j.faults {
			b.mends = append(b.mends, Mend{f.Point, f.Mend})
		}
	} else {
		for _, m := range j.misread.Mends {
			b.mends = append(b.mends, mendWords(m))
		}
	}
	if len(b.mends) > 0 {
		b.words += fmt.Sprintf(": %s: %s", b.mends[0].Point, b.mends[0].Change)
	}
	b.ask = "Mend the map before anything in the panel is moved: `legwork map check MAP METER` says what fits the meter's registers, and --write COPY saves it"
	return b
}

func mendWords(m evidence.Mend) Mend {
	point := m.Quantity.String()
	if m.Channel > 0 {
		point = fmt.Sprintf("%s.%d", point, m.Channel)
	}
	switch m.Change {
	case evidence.Rescale:
		return Mend{point, fmt.Sprintf("multiply its scale by %g", m.Factor)}
	case evidence.TurnOver:
		return Mend{point, "import and export are exchanged: turn `positive` over"}
	case evidence.LagForLead:
		return Mend{reading.AngleOf.String(), "lag and lead are exchanged: turn `positive` over, for the reactive power too"}
	case evidence.Reorder:
		return Mend{"order", "the words of values over 16 bits are in another order"}
	}
	return Mend{"at", "the addresses are off by one or by the width of a value, or the table is the other one"}
}

// ratingWords says that the CTs' plates and the meter's setting disagree.
func (j *judgement) ratingWords() (string, bool) {
	set, ok := j.reading.CTPrimary.Get()
	plate := j.options.CTPrimary
	if !ok || set <= 0 || plate <= 0 || math.Abs(math.Log(set/plate)) < math.Log(ratingsApart) {
		return "", false
	}
	return fmt.Sprintf("the meter is set to CTs of %g A, and those fitted are of %g A: every current reads %.4g "+
		"times what flows",
		set, plate, set/plate), true
}
