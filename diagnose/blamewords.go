package diagnose

import (
	"fmt"

	"legwork/diagnose/internal/evidence"
	"legwork/diagnose/internal/verdict"
	"legwork/probe/reading"
)

// blamed is what isn't of conductors or loads, in words.
type blamed struct {
	words string // "the register map misreads the meter", in a clause
	mends []Mend
	ask   string // what to do about it, in a sentence
}

func (j *judgement) inWords(b *verdict.Blamed) blamed {
	switch {
	case b.Cause == CauseMap:
		return j.mapBlamed()
	case b.Plates:
		return blamed{words: j.ratingWords(), ask: "Read the rating on the CTs' plates and the CT ratio that is set in the meter; " +
			"set the meter to the plates, and write it down"}
	}
	d := currentFault(*b.Ratio)
	return blamed{words: fmt.Sprintf("the CT ratio of %s is wrong: %s", d.Point, d.Fault),
		ask: "Compare the plate of that CT with the ratio set in the meter, and see that its core is closed round all of its conductor"}
}

func (j *judgement) mapBlamed() blamed {
	b := blamed{words: "the register map misreads the meter", mends: []Mend{}}
	for _, f := range j.Faults {
		d := dataFault(f)
		b.mends = append(b.mends, Mend{d.Point, d.Mend})
	}
	if len(j.Faults) == 0 {
		for _, m := range j.Misread.Mends {
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
func (j *judgement) ratingWords() string {
	set, plate := j.Reading.CTPrimary.Or(0), j.CTPrimary
	return fmt.Sprintf("the meter is set to CTs of %g A, and those fitted are of %g A: every current reads %.4g times what flows",
		set, plate, set/plate)
}
