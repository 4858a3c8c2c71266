package diagnose

import (
	"fmt"

	"legwork/diagnose/wiring"
)

// notes are what a person should know beside the verdict.
func (j *judgement) notes() []string {
	all := []string{}
	g := j.top()
	if g != nil && g.AnyJudged() {
		if q, ok := g.Sequence(); ok && q == wiring.Backward {
			all = append(all, "The sequence is ACB: the site's own, or two voltage leads are crossed; only a phase test can tell")
		}
	}
	for _, f := range j.options.Findings {
		if g != nil && f.Test == wiring.SequenceTest {
			if q, ok := g.Sequence(); ok && q.String() != string(f.Outcome) {
				all = append(all, fmt.Sprintf("%q contradicts the readings, which show %s: repeat the test", f, q))
			}
		}
	}
	for _, b := range j.blamed {
		if b.cause == CauseSettings && j.verdict == Fault && b.p < j.options.decide() {
			all = append(all, sentence(b.words)+": mend that too")
		}
	}
	if k := j.unusedCurrent(); k > 0 {
		all = append(all, fmt.Sprintf("Channel %d carries %.4g A, and %s has no use for it", k, j.channels[k-1].Current.Or(0), j.service.Name))
	}
	return all
}
