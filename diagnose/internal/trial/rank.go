package trial

import (
	"cmp"
	"math"
	"slices"

	"legwork/diagnose/internal/infer"
	"legwork/diagnose/wiring"
)

// Gains in bits under which a test isn't named: while it is open what is wrong,
// and once it is decided. Our choice, no source.
const (
	leastGain    = 0.02
	decidedGain  = 0.2
	decidedTwins = 0.001 // of what reads alike under the verdict
)

// most is how many tests are named.
const most = 4

// Ranked is a test that is worth making.
type Ranked struct {
	Test    wiring.Test
	Channel int     // 0 for none
	Leg     int     // 0 for none
	Bits    float64 // expected drop of the entropy over what the hypotheses claim
	Ask     string  // what to do, in a sentence
}

// Rank lists the tests that tell most for the time they take, the best first;
// nearness to live parts counts as time. A load step is left out while a CT may be
// open, and so is what a person has told of. Top is the likeliest group, nil for
// none; it is decided from the probability decide on.
func Rank(s Site, top *infer.Group, decide float64, told []wiring.Finding) []Ranked {
	all, least := open(s.Worlds, top, decide)
	type costed struct {
		Ranked
		worth float64
	}
	var list []costed
	for _, t := range trials(s) {
		bits := t.gain(all)
		if bits < least || made(&t, told) {
			continue
		}
		cost := t.minutes
		if t.live {
			cost += 10
		}
		list = append(list, costed{Ranked{t.test, t.channel, t.leg, math.Round(bits*1000) / 1000, t.ask}, bits / cost})
	}
	slices.SortStableFunc(list, func(a, b costed) int { return cmp.Compare(b.worth, a.worth) })
	tests := make([]Ranked, 0, len(list))
	for _, r := range list[:min(len(list), most)] {
		tests = append(tests, r.Ranked)
	}
	return tests
}

// open lists the hypotheses that a test should tell apart, and the least gain
// for which one is worth its while. Once it is decided what is wrong only the
// arrangements that read alike are left, if there are any.
func open(worlds []infer.Weighed, top *infer.Group, decide float64) (all []infer.Hypothesis, least float64) {
	alike := top != nil && top.Weight >= decide && len(top.Twins()) > 0
	for i := range worlds {
		of := worlds[i].Posterior.Hypotheses
		if alike {
			of = func() []infer.Hypothesis { return worlds[i].Posterior.Alike(top) }
		}
		for _, h := range of() {
			h.Weight *= worlds[i].Share
			all = append(all, h)
		}
	}
	switch {
	case alike:
		return all, decidedTwins
	case top != nil && top.Weight >= decide:
		return all, decidedGain
	}
	return all, leastGain
}

// made reports a test that a person has told of: it isn't asked for again.
func made(t *trial, told []wiring.Finding) bool {
	for _, f := range told {
		same := f.Test == t.test && (t.leg == 0 || f.Leg == t.leg) && (t.channel == 0 || f.Channel == t.channel)
		if same && f.Test != wiring.VoltageTest {
			return true
		}
	}
	return false
}
