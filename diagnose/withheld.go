package diagnose

import (
	"fmt"
	"slices"
	"strings"

	"legwork/diagnose/internal/evidence"
)

// What was read before the last reading may hold a verdict of right wiring back, however
// well the last one fits it.

// withheld says why, the gravest first; empty where nothing does.
func (j *judgement) withheld() (all []string) {
	for _, words := range [...]string{j.unsteadyWords(), j.spoiltWords(), j.lateFirst(), j.misfitWords()} {
		if words != "" {
			all = append(all, words)
		}
	}
	return all
}

// hold takes such a verdict back.
func (j *judgement) hold() {
	if j.Verdict == Agrees && len(j.withheld()) > 0 {
		j.Verdict = Undecided
	}
}

// spoiltWords says what earlier readings show that can't be; empty where few do.
func (j *judgement) spoiltWords() string {
	if !j.screen.Spoilt() {
		return ""
	}
	all := j.earlierNotes()
	if len(all) == 0 {
		return ""
	}
	return strings.ToLower(all[0][:1]) + all[0][1:]
}

// earlierNotes says what can't be in readings before the last, which were left out.
func (j *judgement) earlierNotes() (all []string) {
	for _, e := range j.screen.Earlier() {
		fault, _ := faultWords(e.Fault)
		all = append(all, fmt.Sprintf("In %d of %d readings %s can't be (the last: %s)", e.Readings, j.screen.Readings(), e.Point, fault))
	}
	return all
}

// spoiltQuestion asks for readings that aren't.
func (j *judgement) spoiltQuestion() (all []NextTest) {
	if e := j.screen.Earlier(); j.screen.Spoilt() && len(e) > 0 {
		_, mend := faultWords(e[0].Fault)
		all = append(all, NextTest{Test: "more-readings", GainBits: 1, Ask: fmt.Sprintf("Read again, and see whether %s still comes out wrong: then %s; if it's "+
			"right from now on, the wire spoilt it", e[0].Point, mend)})
	}
	return all
}

// Power and current of different times.
const (
	lateWords = "power and current are of different times, for the one changes while the other stays: the registers of one are a mean over a time, " +
		"a demand or a maximum; no change of load was used"
	lateAsk = "Have the map read the registers of the moment, for power and for current, or let the loads stand still before each reading, and read again"
)

// lateFirst says so before what the last state shows.
func (j *judgement) lateFirst() string {
	if j.Late {
		return lateWords
	}
	return ""
}

// misfitWords says what of the last reading fits nothing else and is none of the wiring's.
func (j *judgement) misfitWords() string {
	switch _, misfit := j.energyMisfit(); {
	case misfit:
		return "the registers of energy don't grow as the power would have them"
	case j.Unmeasured:
		return "all inputs read the same angle, which is none between them"
	}
	return ""
}

// energyMisfit is the first register of energy that doesn't fit the power.
func (j *judgement) energyMisfit() (f evidence.Fault, ok bool) {
	i := slices.IndexFunc(j.Faults, func(f evidence.Fault) bool { return f.Kind == evidence.EnergyMisfit })
	if i < 0 {
		return f, false
	}
	return j.Faults[i], true
}

// energyAsk is what tells whether the energy is misread or the power.
func energyAsk(f evidence.Fault) string {
	if f.Decade == 0 {
		return fmt.Sprintf("See that the map reads %s rightly, and read again", f.Point)
	}
	return fmt.Sprintf("Clamp one leg: where its current reads right, mend the scale of %s, else those of current and power; then read again", f.Point)
}
