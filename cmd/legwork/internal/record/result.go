package record

import (
	"strings"

	"legwork/diagnose/clamp"
	"legwork/diagnose/energy"
	"legwork/diagnose/ledger"
	"legwork/diagnose/phasetest"
	"legwork/diagnose/pulses"
	"legwork/diagnose/wiring"
)

// Result is what a command other than diagnose gave: the one that the entry's
// kind names. The others are left out.
type Result struct {
	PhaseTest *phasetest.Result `json:"phase_test,omitempty"`
	Clamp     *clamp.Result     `json:"clamp,omitempty"`
	Pulses    *pulses.Result    `json:"pulses,omitempty"`
	Ledger    *ledger.Result    `json:"ledger,omitempty"`
	Energy    *energy.Result    `json:"energy,omitempty"`
	LoadStep  *LoadStep         `json:"load_step,omitempty"`
}

// LoadStep is what a load of a known leg showed when it came on. Null isn't known.
type LoadStep struct {
	Legwork  int      `json:"legwork"`
	Leg      int      `json:"leg"`
	Outcome  string   `json:"outcome"`  // as-expected, elsewhere, unclear or nothing
	Channels []int    `json:"channels"` // that took it
	Current  *float64 `json:"current"`  // A, the change on the one channel that took it
	Power    *float64 `json:"power"`    // W, likewise
	Says     string   `json:"says"`
	Seen     []string `json:"seen"` // the same as the diagnosis takes it
	// IfCertain is that if the load was on this leg for certain, where another one explains it too.
	IfCertain []string `json:"if_certain,omitempty"`
}

// Typed is one flag as a person gave it.
type Typed struct {
	Flag string `json:"flag"`
	Text string `json:"text"`
}

// Sentence gives the verdict's word and its sentence. Of energy the word says
// whether there is an estimate: a fault is what it is an estimate for.
func (r *Result) Sentence() (word, sentence string) {
	switch {
	case r == nil:
		return "", ""
	case r.PhaseTest != nil:
		return string(r.PhaseTest.Verdict), r.PhaseTest.Summary
	case r.Clamp != nil:
		return string(r.Clamp.Verdict), r.Clamp.Summary
	case r.Pulses != nil:
		return string(r.Pulses.Verdict), r.Pulses.Summary
	case r.Ledger != nil:
		return r.Ledger.Word(), r.Ledger.Summary
	case r.Energy != nil:
		return estimateWord(r.Energy.Verdict), r.Energy.Summary
	case r.LoadStep != nil:
		word = map[string]string{"as-expected": "agrees", "elsewhere": "fault"}[r.LoadStep.Outcome]
		if word == "" {
			word = "undecided"
		}
		return word, strings.TrimRight(r.LoadStep.Says, ".") + "."
	}
	return "", ""
}

func estimateWord(v wiring.Verdict) string {
	switch v {
	case wiring.Fault:
		return "estimate"
	case wiring.Undecided:
		return "no estimate"
	}
	return string(v)
}
