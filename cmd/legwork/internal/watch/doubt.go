package watch

import (
	"fmt"

	"legwork/diagnose"
)

// weighed is a verdict's first explanation before tests were told.
type weighed struct {
	words       string
	probability float64
	findings    []diagnose.Finding // since
}

func weigh(r diagnose.Result) *weighed {
	x := r.Likeliest()
	return &weighed{words: x.Words, probability: x.Probability}
}

// contradicted is how far the odds of an explanation fall for a test to have spoken
// against it. Our choice.
const contradicted = 3

// tellDoubt makes an event of a test that speaks against the verdict there was: of
// one that the verdict outlives, too.
func (s *Session) tellDoubt() {
	w := s.before
	s.before = nil
	if w == nil || w.words == "" || s.result.Verdict == diagnose.Undecided && w.probability < 0.5 {
		return
	}
	now := 0.0
	for _, x := range s.result.Explanations {
		if x.Words == w.words {
			now = x.Probability
		}
	}
	if odds(w.probability) < contradicted*odds(now) {
		return
	}
	s.event(s.last.At, fmt.Sprintf("That speaks against the verdict: %s, %s %% before and %s %% with it. Repeat the test",
		w.words, percent(w.probability), percent(now)), true)
}

// odds of a probability; one of nearly 1 keeps what its digits tell.
func odds(p float64) float64 { return p / max(1-p, 1e-15) }
