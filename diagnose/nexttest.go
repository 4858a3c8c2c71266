package diagnose

import "legwork/diagnose/internal/trial"

// nextTests lists the tests that would settle most for the time they take.
func (j *judgement) nextTests() []NextTest {
	tests := []NextTest{}
	if j.stops() {
		return tests // nothing but keeping away
	}
	site := trial.Site{Service: j.service, Posterior: &j.posterior}
	for k := range min(len(j.channels), len(site.MaybeOpen)) {
		site.MaybeOpen[k] = j.silent(k)
	}
	for _, t := range trial.Rank(site, j.top(), j.options.decide(), j.options.Findings) {
		tests = append(tests, NextTest{string(t.Test), optional(t.Channel), optional(t.Leg), t.Bits, t.Ask})
	}
	return tests
}

func optional(n int) *int {
	if n == 0 {
		return nil
	}
	return &n
}
