package diagnose

import (
	"fmt"

	"legwork/diagnose/wiring"
)

// notes are what a person should know beside the verdict.
func (j *judgement) notes() []string {
	all := []string{}
	if j.anew != "" {
		all = append(all, j.anew)
	}
	g := j.Top()
	if g != nil && g.AnyJudged() {
		if q, ok := g.Sequence(); ok && q == wiring.Backward {
			all = append(all, "The sequence is ACB: the site's own, or two voltage leads are crossed; only a phase test can tell")
		}
	}
	for _, f := range j.Contradicting() {
		if j.Verdict == Undecided && f.Test != wiring.SequenceTest {
			continue // it is asked for first
		}
		shows := ""
		if q, ok := g.Sequence(); ok && f.Test == wiring.SequenceTest {
			shows = fmt.Sprintf(", which show %s", q)
		}
		all = append(all, fmt.Sprintf("%q contradicts the readings%s: repeat the test", f, shows))
	}
	for i := range j.Blamed {
		if b := &j.Blamed[i]; b.Cause == CauseSettings && j.Verdict == Fault && b.P < j.Decide {
			all = append(all, sentence(inWords(j.Judgement, b).words)+": mend that too")
		}
	}
	if words := j.unsteadyWords(); words != "" && j.Verdict == Fault {
		all = append(all, sentence(words))
	}
	if j.Verdict == Fault || !j.screen.Spoilt() {
		all = append(all, j.earlierNotes()...)
	}
	if j.Verdict == Fault && j.Late {
		all = append(all, sentence(lateWords))
	}
	all = append(all, j.dropNotes()...)
	if j.History.BackAllDay() {
		all = append(all, "The power reads as flowing back at all hours of the day, which the sun can't do; wind, storage or an engine could")
	}
	if k := j.UnusedCurrent(); k > 0 {
		all = append(all, fmt.Sprintf("Channel %d carries %.4g A, and %s has no use for it", k, j.Reading.Channels[k-1].Current.Or(0), j.Service.Name))
	}
	return all
}
