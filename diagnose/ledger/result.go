package ledger

import (
	"time"

	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// Kind says what a difference is.
type Kind string

// The kinds of difference.
const (
	Plain      Kind = "plain"
	RolledOver Kind = "rolled-over" // the register passed its last digit once
	Beyond     Kind = "beyond"      // more than there was time for: something was read or written wrong
	Backwards  Kind = "backwards"   // it is lower, and which of several ways can't be told
)

// Difference is what one register moved between two reads of one meter.
type Difference struct {
	From       time.Time     `json:"from"`
	To         time.Time     `json:"to"`
	Register   string        `json:"register"`
	Unit       string        `json:"unit"`   // that the register shows
	Before     float64       `json:"before"` // as the register shows it
	After      float64       `json:"after"`
	Multiplier float64       `json:"multiplier"`
	Kind       Kind          `json:"kind"`
	Energy     reading.Value `json:"energy"` // kWh or kVAh, with the multiplier; null where it can't be told
	Within     float64       `json:"within"` // kWh or kVAh: what the last digits leave open
	Note       string        `json:"note"`   // empty where there is nothing to say
}

// Check is one comparison of what should be the same.
type Check struct {
	From     time.Time      `json:"from"`
	To       time.Time      `json:"to"`
	What     string         `json:"what"`     // such as "kWh.1 + kWh.2 + kWh.3 against kWh"
	Found    reading.Value  `json:"found"`    // kWh or kVAh
	Expected reading.Value  `json:"expected"` // kWh or kVAh
	Within   float64        `json:"within"`   // kWh or kVAh: what may be left over
	Coverage reading.Value  `json:"coverage"` // share of the time that a capture covers; null without one
	Verdict  wiring.Verdict `json:"verdict"`
	Note     string         `json:"note"`
}

// Gap is a time that no register covers: a meter was replaced.
type Gap struct {
	From time.Time `json:"from"`
	To   time.Time `json:"to"`
	Note string    `json:"note"`
}

// Total is what one register moved over all reads.
type Total struct {
	Register string        `json:"register"`
	Energy   reading.Value `json:"energy"` // kWh or kVAh; null where a part can't be told
}

// Result is what a ledger says.
type Result struct {
	Legwork     int            `json:"legwork"`
	Verdict     wiring.Verdict `json:"verdict"` // agrees too where there is nothing to compare: see Word
	Summary     string         `json:"summary"`
	Meter       string         `json:"meter"`
	Reads       int            `json:"reads"`
	Differences []Difference   `json:"differences"`
	Totals      []Total        `json:"totals"`
	Checks      []Check        `json:"checks"`
	Gaps        []Gap          `json:"gaps"`
	Notes       []string       `json:"notes"`
}

// Word is the verdict for a person: of differences that nothing was compared with it
// doesn't say that they agree.
func (r *Result) Word() string {
	if r.Verdict == wiring.Agrees && len(r.Checks) == 0 {
		return "not compared"
	}
	return string(r.Verdict)
}
