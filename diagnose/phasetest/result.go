package phasetest

import "legwork/diagnose/wiring"

// ResultVersion is the version of Result's shape; it may grow, its fields keep
// their meaning.
const ResultVersion = 1

// Result is the outcome of a phase test, a plain value that a job's record can
// hold. Volts are AC rms; null is unknown or doesn't apply.
type Result struct {
	Legwork       int            `json:"legwork"`
	Service       string         `json:"service"`
	HighLeg       *string        `json:"high_leg"` // of a four-wire delta, as declared or as the taps read
	Method        string         `json:"method"`   // "live" or "dead"
	Proved        bool           `json:"proved"`   // the tester, before and after
	Verdict       wiring.Verdict `json:"verdict"`
	Summary       string         `json:"summary"` // one sentence
	Poles         []PoleJudged   `json:"poles"`
	Readings      []ReadingRead  `json:"readings"`      // in the order given
	Explanations  []Explanation  `json:"explanations"`  // what is left open, the best first
	Contradicting bool           `json:"contradicting"` // no mapping explains every reading
	Missing       []string       `json:"missing"`       // pairs of the plan that weren't read
	Next          *Next          `json:"next"`          // null where settled
	Danger        []string       `json:"danger"`        // what to do, and nothing else, where the service's neutral may be lost
	Moves         []string       `json:"moves"`         // what to move where, after a fault
	CTs           []CTPlace      `json:"cts"`           // empty unless settled with a pole on every leg
	Findings      []string       `json:"seen"`          // for the diagnosis, in the words of its tests
	Cautions      []string       `json:"cautions"`      // before anything is touched
	Notes         []string       `json:"notes"`         // what the person should know of these readings
}

// PoleJudged says where one pole is.
type PoleJudged struct {
	Pole     int      `json:"pole"`
	On       *string  `json:"on"`       // a leg, "another leg" or "no leg"; null where it is open
	Possible []string `json:"possible"` // the best explained first
	Likely   *string  `json:"likely"`   // where alone every reading fits, were none of them wrong
	Live     *bool    `json:"live"`     // the tap itself reads nominal; null where it wasn't read, and on dead conductors
	Volts    *float64 `json:"volts"`    // the tap to neutral, V, as last read; null where it wasn't
}

// ReadingRead is a reading with what was made of it.
type ReadingRead struct {
	Pair   string   `json:"pair"`
	Volts  *float64 `json:"volts"`
	Closed *bool    `json:"closed"`
	Said   string   `json:"said,omitempty"` // what the tester showed, where closed says less
	Use    Use      `json:"use"`
	Why    string   `json:"why"` // empty where it fits
}

// Use is what a reading did.
type Use string

// What a reading can have done.
const (
	Fits        Use = "fits"        // every mapping that is left open explains it
	InDoubt     Use = "in-doubt"    // it is wrong under a mapping that is left open
	Unexplained Use = "unexplained" // no mapping of the service explains it
	SetAside    Use = "set-aside"   // a later reading of the pair differs
)

// Explanation is one mapping that is left open.
type Explanation struct {
	Words string   `json:"words"`
	Poles []string `json:"poles"` // where each pole is
	Wrong []string `json:"wrong"` // the readings that would have to be wrong
}

// CTPlace says where the CT of a channel goes, once the moves are made.
type CTPlace struct {
	Channel int     `json:"channel"`
	Leg     string  `json:"leg"`
	Colour  *string `json:"colour"` // by the code asked for; null where it gives none
	Arrow   string  `json:"arrow"`  // which way the arrow, or P1 (H1) to P2 (H2), points
	Marks   string  `json:"marks"`  // which mark is towards the source
}

// Next is the reading that separates most of what is left.
type Next struct {
	Pair     string    `json:"pair"`
	Again    bool      `json:"again"`   // it was taken before
	Settles  bool      `json:"settles"` // whatever the likeliest mappings lead to, it settles the test
	Outcomes []Outcome `json:"outcomes"`
	Ask      string    `json:"ask"` // a sentence
}

// Outcome is one value that the next reading may have, and what it would leave.
type Outcome struct {
	Reads     string   `json:"reads"`     // "about 208 V", "closed"
	Likeliest []string `json:"likeliest"` // where the pole is then, if no reading is wrong
	Leaves    []string `json:"leaves"`    // where it may be, if one is; none for a pair without a pole
	Settles   bool     `json:"settles"`
}
