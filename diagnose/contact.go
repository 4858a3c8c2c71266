package diagnose

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"legwork/diagnose/internal/advice"
	"legwork/diagnose/internal/evidence"
	"legwork/diagnose/internal/verdict"
)

// An input whose voltage comes and goes isn't sound because the last reading is.

// everLive is the share of the service's voltage that an input must have read once, to be more
// than one that floats: our choice.
const everLive = 0.5

// unsteady lists the inputs that read another voltage before; none where the service's
// neutral may be lost, which moves them all.
func (j *judgement) unsteady() []evidence.Unsteady {
	if j.Neutral >= verdict.NeutralDanger {
		return nil
	}
	floats := func(u evidence.Unsteady) bool {
		return u.Input > j.Service.Channels() || u.Top < everLive*j.Service.Nominal
	}
	return slices.DeleteFunc(j.contact.Unsteady(), floats)
}

// unsteadyInput reports that of channel k.
func (j *judgement) unsteadyInput(k int) bool {
	return slices.ContainsFunc(j.unsteady(), func(u evidence.Unsteady) bool { return u.Input == k+1 })
}

// hold takes back a verdict of right wiring beside such an input, or beside many readings
// that can't be.
func (j *judgement) hold() {
	if j.Verdict == Agrees && (len(j.unsteady()) > 0 || j.screen.Spoilt() || j.Late) {
		j.Verdict = Undecided
	}
}

// unsteadyWords says how often which input read what; empty where none did.
func (j *judgement) unsteadyWords() string {
	var all []string
	for _, u := range j.unsteady() {
		when := ""
		if !u.At.IsZero() {
			when = ", the last at " + u.At.Format(time.TimeOnly)
		}
		all = append(all, fmt.Sprintf("voltage input %d read %.1f V in %d of %d readings%s, and reads %.1f V now", u.Input, u.Volts, u.Readings,
			j.contact.N, when, j.Reading.Channels[u.Input-1].Voltage.Or(0)))
	}
	return advice.Listed(all)
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

// unsteadyQuestions asks for more of them.
func (j *judgement) unsteadyQuestions() (all []NextTest) {
	for _, u := range j.unsteady() {
		ask := fmt.Sprintf("If the lead, the fuse or the breaker of voltage input %d was switched or mended on the way, read again from there (n in `watch`). If not, "+
			"one of them, or a clip, makes poor contact: have it looked at on a dead panel by those qualified", u.Input)
		if g := j.Top(); g != nil && j.of(u.Volts, u.Input-1, g) > mostOfHome {
			ask = fmt.Sprintf("If leads of voltage inputs were moved on the way, read again from there (n in `watch`). If not, read on: should input %d read %.0f V again, "+
				"keep away and have the supply looked at, else the wire spoilt it", u.Input, u.Volts)
		}
		all = append(all, NextTest{Test: "contact", Channel: optional(u.Input), GainBits: 1, Ask: ask})
	}
	if e := j.screen.Earlier(); j.screen.Spoilt() && len(e) > 0 {
		_, mend := faultWords(e[0].Fault)
		all = append(all, NextTest{Test: "more-readings", GainBits: 1, Ask: fmt.Sprintf("Read again, and see whether %s still comes out wrong: then %s; if it's "+
			"right from now on, the wire spoilt it", e[0].Point, mend)})
	}
	return all
}

// dropNotes says which currents came and went by themselves.
func (j *judgement) dropNotes() (all []string) {
	for k := range min(j.Service.Channels(), len(j.Reading.Channels)) {
		if n := j.contact.Drops(k); n > 0 {
			all = append(all, fmt.Sprintf("Channel %d fell to 0 A and came back, %s, while the others carried on: so it does where all its loads go off "+
				"together; if they don't, CT %d or a lead of it makes poor contact", k+1, advice.Times(n), k+1))
		}
	}
	return all
}
