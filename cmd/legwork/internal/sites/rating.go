package sites

import (
	"fmt"
	"math"

	"legwork/diagnose"
	"legwork/probe/reading"
)

// ratingSlack is what two notes of one rating may differ by; our choice.
const ratingSlack = 0.01

// CheckRating holds the rating that the list gives the CTs against the one that
// the meter is set to. Where they part, one of them is wrong, and with it all
// powers may be: then wiring that agrees is no more than undecided.
func (s *Site) CheckRating(last *reading.Reading, v *diagnose.Result) {
	set, known := last.CTPrimary.Get()
	if !known || s.CTPrimary == 0 || math.Abs(set/s.CTPrimary-1) <= ratingSlack {
		return
	}
	fault := fmt.Sprintf("the meter is set to CTs of %g A, and the list says %g A", set, s.CTPrimary)
	v.DataFaults = append(v.DataFaults, diagnose.DataFault{Point: "ct_primary", Fault: fault,
		Mend: "read the rating on the CTs, and set right what is wrong"})
	if v.Verdict == diagnose.Agrees {
		v.Verdict, v.Summary = diagnose.Undecided, "Undecided: the wiring agrees with the readings, but "+fault+"."
	}
}
