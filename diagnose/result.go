package diagnose

import (
	"strings"
	"time"

	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// ResultVersion is the version of Result's shape; it may grow, its fields keep
// their meaning.
const ResultVersion = 1

// Verdict is the answer in one word.
type Verdict = wiring.Verdict

// The verdicts: the wiring agrees with the readings, something is wired wrong,
// the readings leave it open.
const (
	Agrees    = wiring.Agrees
	Fault     = wiring.Fault
	Undecided = wiring.Undecided
)

// State is what a channel shows under the first explanation.
type State string

// The states of a channel.
const (
	StateAgrees          State = "agrees"
	StateReversed        State = "reversed"
	StateCrossed         State = "crossed"
	StateReversedCrossed State = "reversed-crossed"
	StateUnloaded        State = "unloaded"
	StateNoVoltage       State = "no-voltage"
	StateUnclear         State = "unclear"
)

// InputState is what a voltage input shows.
type InputState = wiring.InputState

// The states of a voltage input.
const (
	InputUnknown        = wiring.InputUnknown
	InputLive           = wiring.InputLive
	InputLow            = wiring.InputLow
	InputHigh           = wiring.InputHigh
	InputDead           = wiring.InputDead
	InputShared         = wiring.InputShared
	InputNeutralCrossed = wiring.InputNeutralCrossed
)

// Result is the outcome of a diagnosis: what every rendering shows. Its JSON is
// the project's outer surface. Units are SI, angles are degrees, null is unknown.
type Result struct {
	Legwork      int             `json:"legwork"`
	At           time.Time       `json:"at"` // of the last reading
	Service      ServiceJudged   `json:"service"`
	Verdict      Verdict         `json:"verdict"`
	Summary      string          `json:"summary"` // one sentence
	Channels     []ChannelJudged `json:"channels"`
	Explanations []Explanation   `json:"explanations"` // most probable first
	// Expect is what each channel reads at the same load once the wiring is right, where
	// all explanations that remain say the same; empty where they share nothing.
	Expect     []ChannelAfter `json:"expect"`
	NextTests  []NextTest     `json:"next_tests"` // most useful first
	DataFaults []DataFault    `json:"data_faults"`
	// KeepAway says that the service's neutral may be lost: nothing is to be touched or
	// switched, and the only move is to keep away.
	KeepAway bool     `json:"keep_away"`
	Cautions []string `json:"cautions"` // to be shown before any step that touches a conductor
	Limits   []string `json:"limits"`   // what the readings can't tell
	Notes    []string `json:"notes"`    // what a person should know beside the verdict
	Steps    int      `json:"steps"`    // changes of load that were used as evidence
}

// ServiceJudged names the service that the verdict is about.
type ServiceJudged struct {
	Name     string `json:"name"`
	Inferred bool   `json:"inferred"`
}

// ChannelJudged is one channel as read, with its state.
type ChannelJudged struct {
	Channel      int                          `json:"channel"`
	State        State                        `json:"state"`
	Voltage      reading.Value                `json:"voltage"`
	Current      reading.Value                `json:"current"`
	Power        reading.Value                `json:"power"`
	Reactive     reading.Value                `json:"reactive"`
	Angle        reading.Maybe[reading.Angle] `json:"angle"`
	VoltageAngle reading.Maybe[reading.Angle] `json:"voltage_angle"`
}

// Cause says what an explanation blames, and so who acts.
type Cause = wiring.Cause

// The causes.
const (
	CauseWiring     = wiring.ByWiring
	CauseService    = wiring.ByService
	CauseMap        = wiring.ByMap
	CauseSettings   = wiring.BySettings
	CauseGeneration = wiring.ByGeneration
	CauseLoad       = wiring.ByLoad
)

// Explanation is one way, or one set of ways that read alike, in which the
// conductors may be arranged, or what else may be the cause.
type Explanation struct {
	Probability      float64        `json:"probability"`
	Cause            Cause          `json:"cause"`
	Service          string         `json:"service,omitempty"` // CauseService: the one that fits
	Mends            []Mend         `json:"mends,omitempty"`   // CauseMap: what to change in the map
	Words            string         `json:"words"`             // "CT 2 is reversed"
	CT               []CTPlaced     `json:"ct"`
	Twins            [][]CTPlaced   `json:"twins"` // others that imply the same load angles
	Voltage          []InputJudged  `json:"voltage"`
	Sequence         *string        `json:"sequence"` // "ABC", "ACB"; null where it isn't known
	Registration     reading.Value  `json:"registration"`
	RegistrationLow  reading.Value  `json:"registration_low"`
	RegistrationHigh reading.Value  `json:"registration_high"`
	Moves            []Move         `json:"moves"` // of a fault: alternatives, the one with least live work first
	Expect           []ChannelAfter `json:"expect"`
}

// CTPlaced says on which leg the CT of a channel sits. Leg and Reversed are nil
// where the channel couldn't be judged.
type CTPlaced struct {
	Channel  int    `json:"channel"`
	Leg      *int   `json:"leg"`
	Reversed *bool  `json:"reversed"`
	On       string `json:"on,omitempty"` // "neutral" where the CT sits on that; then Leg is nil
}

// OnNeutral reports that the likeliest wiring has a channel's CT on the neutral.
func (r *Result) OnNeutral(channel int) bool {
	for i := range r.Explanations {
		for _, c := range r.Explanations[i].CT {
			if c.Channel == channel {
				return c.On == "neutral"
			}
		}
	}
	return false
}

// Mend is a change of the register map.
type Mend struct {
	Point  string `json:"point"`  // "power.2", or "power" for all channels
	Change string `json:"change"` // such as "multiply its scale by 0.001"
}

// InputJudged is the state of one voltage input.
type InputJudged struct {
	Channel int        `json:"channel"`
	State   InputState `json:"state"`
	Severe  bool       `json:"severe"` // so far off that it is a fault by itself: its voltage isn't its leg's
}

// Move is one way to make the wiring right.
type Move = wiring.Move

// ChannelAfter is what a channel should read after the first move at the same load.
type ChannelAfter struct {
	Channel int                          `json:"channel"`
	Power   reading.Value                `json:"power"`
	Angle   reading.Maybe[reading.Angle] `json:"angle"`
}

// NextTest is a test that a technician can make and what it is worth.
type NextTest struct {
	Test     string  `json:"test"` // "load-step", ...
	Channel  *int    `json:"channel"`
	Leg      *int    `json:"leg"`
	GainBits float64 `json:"gain_bits"` // expected drop of entropy over the explanations
	Ask      string  `json:"ask"`       // what to do, in a sentence
}

// DataFault is a register that breaks physics, with the likely mend of the map.
type DataFault struct {
	Point string `json:"point"`
	Fault string `json:"fault"`
	Mend  string `json:"mend"`
}

// openLead is how the summary of an open verdict begins.
const openLead = "Undecided: "

// Sentence is the summary for who shows the verdict's word beside it: that of an
// open verdict begins with the word, so that it can't be read without it.
func (r *Result) Sentence() string { return strings.TrimPrefix(r.Summary, openLead) }
