package survey

import (
	"time"

	"legwork/diagnose"
	"legwork/probe/reading"
)

// Version is that of Result's shape; it may grow, its fields keep their meaning.
const Version = 1

// Status is what is known of a meter in one word: the word of its verdict, or
// Unreadable.
type Status string

// The statuses.
const (
	Agrees     Status = Status(diagnose.Agrees)
	Fault      Status = Status(diagnose.Fault)
	Undecided  Status = Status(diagnose.Undecided)
	Unreadable Status = "unreadable"
)

// Result is the outcome of a survey. Powers are in W; null is not known.
type Result struct {
	Legwork  int       `json:"legwork"`
	At       time.Time `json:"at"`
	Complete bool      `json:"complete"` // false where it was interrupted
	Listed   int       `json:"listed"`   // meters of the list
	Counts   Counts    `json:"counts"`
	Meters   []Meter   `json:"meters"` // by lost power, most first
	Sites    []Place   `json:"sites"`  // groups of meters, by lost power, most first
	Balances []Balance `json:"balances"`
	Against  *Against  `json:"against,omitempty"`
}

// Counts is how many meters have each status.
type Counts struct {
	Agrees     int `json:"agrees"`
	Fault      int `json:"fault"`
	Undecided  int `json:"undecided"`
	Unreadable int `json:"unreadable"`
}

// Add counts one meter.
func (c *Counts) Add(s Status) {
	*c.of(s)++
}

// Of is the number of meters with a status.
func (c Counts) Of(s Status) int { return *c.of(s) }

func (c *Counts) of(s Status) *int {
	switch s {
	case Agrees:
		return &c.Agrees
	case Fault:
		return &c.Fault
	case Undecided:
		return &c.Undecided
	}
	return &c.Unreadable
}

// Meter is one meter of the list.
type Meter struct {
	Name    string           `json:"name"`
	Site    string           `json:"site"`
	Status  Status           `json:"status"`
	Summary string           `json:"summary"`
	Lost    reading.Value    `json:"lost_power"` // true power less registered power
	Low     reading.Value    `json:"lost_power_low"`
	High    reading.Value    `json:"lost_power_high"`
	Power   reading.Value    `json:"power"` // registered
	Error   *string          `json:"error"`
	Verdict *diagnose.Result `json:"verdict"`

	at     time.Time
	spread float64 // W, deviation of the power from one reading to the next
	taken  int     // readings
}

// Place is the meters of one site.
type Place struct {
	Site   string        `json:"site"`
	Counts Counts        `json:"counts"`
	Lost   reading.Value `json:"lost_power"` // of the meters of which it is known
}

// Balance compares a meter with those below it, as they register.
type Balance struct {
	Main       string        `json:"main"`
	Below      []string      `json:"below"`
	Power      reading.Value `json:"main_power"`
	Sum        reading.Value `json:"sum"`
	Difference reading.Value `json:"difference"` // main less sum
	Low        reading.Value `json:"difference_low"`
	High       reading.Value `json:"difference_high"`
	Missing    []string      `json:"missing"`   // those whose power isn't known; then there is no sum
	Opens      bool          `json:"opens"`     // the interval leaves out zero
	Explained  *bool         `json:"explained"` // by the verdicts below; null where nothing opens
	Summary    string        `json:"summary"`
}

// Against is what changed since an earlier survey.
type Against struct {
	At     time.Time `json:"at"` // of the earlier one
	New    []Change  `json:"new"`
	Other  []Change  `json:"other"` // another fault than before
	Mended []Change  `json:"mended"`
	Silent []Change  `json:"silent"` // was read before, and isn't now
	Gone   []Change  `json:"gone"`   // no longer in the list
}

// Change is one meter that changed.
type Change struct {
	Name string `json:"name"`
	Was  string `json:"was"`
	Is   string `json:"is"`
}
