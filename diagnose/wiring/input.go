package wiring

import "encoding/json"

// InputState is what a voltage input shows.
type InputState string

// The states of a voltage input.
const (
	InputUnknown        InputState = "" // its voltage isn't read, or isn't one; null in JSON
	InputLive           InputState = "live"
	InputLow            InputState = "low"             // between dead and live: back-fed, or a lost neutral
	InputHigh           InputState = "high"            // beyond what the service has
	InputDead           InputState = "dead"            // an open fuse, breaker or lead
	InputShared         InputState = "shared"          // on the conductor of another input
	InputNeutralCrossed InputState = "neutral-crossed" // exchanged with the meter's neutral
)

// MarshalJSON writes null where nothing is known.
func (s InputState) MarshalJSON() ([]byte, error) {
	if s == InputUnknown {
		return []byte("null"), nil
	}
	return json.Marshal(string(s))
}
