package diagnose

import (
	"cmp"
	"math"
	"slices"
)

// Gains in bits under which a test isn't named: while it is open what is wrong,
// and once it is decided. Our choice, no source.
const (
	leastGain    = 0.02
	decidedGain  = 0.2
	decidedTwins = 0.001 // of what reads alike under the verdict
)

// nextTests ranks the trials by gain for the time they take; nearness to live
// parts counts as time. A load step is left out while a CT may be open.
func (j *judgement) nextTests() []NextTest {
	if j.stops() {
		return []NextTest{} // nothing but keeping away
	}
	all, least := j.open()
	type ranked struct {
		NextTest
		worth float64
	}
	var list []ranked
	for _, t := range j.trials() {
		bits := t.gain(all)
		if bits < least || j.made(&t) {
			continue
		}
		cost := t.minutes
		if t.live {
			cost += 10
		}
		list = append(list, ranked{NextTest{t.test, optional(t.channel), optional(t.leg), math.Round(bits*1000) / 1000, t.ask}, bits / cost})
	}
	slices.SortStableFunc(list, func(a, b ranked) int { return cmp.Compare(b.worth, a.worth) })
	tests := make([]NextTest, 0, len(list))
	for _, r := range list[:min(len(list), 4)] {
		tests = append(tests, r.NextTest)
	}
	return tests
}

// open lists the hypotheses that a test should tell apart, and the least gain
// for which one is worth its while. Once it is decided what is wrong only the
// arrangements that read alike are left, if there are any.
func (j *judgement) open() (all []hypothesis, least float64) {
	all = j.posterior.hypotheses()
	g := j.top()
	if g == nil || g.weight < j.options.decide() {
		return all, leastGain
	}
	if len(g.members) == 1 {
		return all, decidedGain
	}
	return j.posterior.alike(g), decidedTwins
}

// alike lists the members of a group under every frame that puts the inputs as it does.
func (p *posterior) alike(g *group) []hypothesis {
	var all []hypothesis
	for f := range p.frames {
		if !p.frames[f].hosts(g) {
			continue
		}
		for _, m := range g.members {
			if w := p.weights[f][m.number]; w > 0 {
				all = append(all, hypothesisOf(&p.frames[f], m.number, g.judged, w))
			}
		}
	}
	return all
}

func optional(n int) *int {
	if n == 0 {
		return nil
	}
	return &n
}
