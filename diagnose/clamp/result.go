package clamp

import (
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// State is what one comparison shows.
type State string

// The states of a comparison.
const (
	Right    State = "right"     // the ratio may be 1
	Off      State = "off"       // the ratio is another
	Unsteady State = "unsteady"  // the load changed too much between samples
	Drifted  State = "drifted"   // the ratio is another, by no more than the load may have drifted meanwhile
	TooSmall State = "too-small" // the instrument can't say it well enough at this value
	NotRead  State = "not-read"  // the meter gives no such value
)

// Compared is one reading of the instrument beside the meter's.
type Compared struct {
	Quantity   string        `json:"quantity"` // "current" or "voltage"
	Channel    int           `json:"channel"`
	Leg        int           `json:"leg"`
	Instrument float64       `json:"instrument"` // A or V
	Limit      float64       `json:"limit"`      // A or V: the instrument's stated limit of error
	Meter      reading.Value `json:"meter"`      // A or V, mean of the samples
	Deviation  reading.Value `json:"deviation"`  // A or V, of one sample; null for a single one
	Ratio      reading.Value `json:"ratio"`      // meter over instrument
	Low        reading.Value `json:"low"`        // 95 % interval of the ratio
	High       reading.Value `json:"high"`
	State      State         `json:"state"`
	Ratings    []Explained   `json:"ratings"` // standard CTs that would read so, the nearest first
}

// Cause is the kind of an explanation.
type Cause string

// The causes.
const (
	RatiosRight Cause = "ratios-right"  // only angles could be wrong
	SetWrong    Cause = "set-wrong"     // all channels off by one ratio: type, rating or scale
	OneOdd      Cause = "one-odd"       // one channel is off, the others are right
	Exchanged   Cause = "exchanged"     // the readings fit when legs are exchanged
	Unlike      Cause = "unlike"        // several channels are off, each by its own ratio
	Nothing     Cause = "reads-nothing" // the channel reads nothing where current flows: its CT may be open
	NotSteady   Cause = "not-steady"    // nothing can be said until the load is steady
	NotEnough   Cause = "not-enough"    // nothing can be said at so small a value
	MayDrift    Cause = "drift"         // the load may have drifted between the two readings
	RatingsTold Cause = "ratings"       // what is said of the CTs' ratings disagrees
	KeepAway    Cause = "keep-away"     // the service's neutral may be lost: nothing is compared
)

// Explanation is one thing that may be so.
type Explanation struct {
	Cause    Cause         `json:"cause"`
	Quantity string        `json:"quantity"`
	Channels []int         `json:"channels"`
	Legs     []int         `json:"legs"`  // Exchanged: the leg that each of the channels' readings is of
	Ratio    reading.Value `json:"ratio"` // meter over instrument, where one ratio is meant
	Words    string        `json:"words"`
}

// Result is the outcome of a comparison.
type Result struct {
	Legwork      int            `json:"legwork"`
	Verdict      wiring.Verdict `json:"verdict"`
	Summary      string         `json:"summary"`
	Samples      int            `json:"samples"`
	Accuracy     Accuracy       `json:"accuracy"`      // of the clamp ammeter
	VoltAccuracy Accuracy       `json:"volt_accuracy"` // of the voltmeter
	Set          *Rating        `json:"ct"`            // what the meter is set to; null where it isn't known
	Channels     []Compared     `json:"channels"`
	Explanations []Explanation  `json:"explanations"`
	Cautions     []string       `json:"cautions"` // to be shown before anything is touched
	Evidence     []string       `json:"evidence"` // for diagnose --seen
	Notes        []string       `json:"notes"`    // what was assumed
}
