package diagnose

import (
	"fmt"
	"slices"
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
