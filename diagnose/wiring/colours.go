package wiring

import (
	"fmt"
	"slices"
	"strings"
)

// ColourCode is a practice of colouring conductors. Local code rules: a colour is
// a hint that a person edits, never proof of a leg.
type ColourCode string

// The colour codes.
const (
	// ColoursCanada: CEC Part I, the rule on colours of conductors (4-036 in older
	// editions), as quoted in a forum.
	ColoursCanada ColourCode = "canada"
	// ColoursUSLow and ColoursUSHigh, up to 250 V and above it: common practice in
	// the United States, trade tables; the code there leaves phases open.
	ColoursUSLow  ColourCode = "us-low"
	ColoursUSHigh ColourCode = "us-high"
	// ColoursIEC: the order by CENELEC's HD 308; IEC 60445 names the colours alone.
	ColoursIEC ColourCode = "iec"
)

// ColourCodes lists the colour codes by name.
func ColourCodes() []string {
	return []string{string(ColoursCanada), string(ColoursUSLow), string(ColoursUSHigh), string(ColoursIEC)}
}

// ParseColourCode reads the name of a colour code; empty is none.
func ParseColourCode(text string) (ColourCode, error) {
	if text == "" || slices.Contains(ColourCodes(), text) {
		return ColourCode(text), nil
	}
	return "", fmt.Errorf("%q is not one of %s", text, strings.Join(ColourCodes(), ", "))
}

// Conductors gives the colours of a service's conductors: legs 1 to 3, neutral,
// earth. A text is empty where the code names none. The high leg of a four-wire
// delta is orange in the United States (NEC 110.15, from memory), and leg 2
// where the service doesn't say which it is.
func (c ColourCode) Conductors(s Service) [5]string {
	switch c {
	case ColoursCanada:
		if s.Kind == SplitPhase { // the same rule, its single-phase service of three wires
			return [5]string{"black", "red", "", "white", "green"}
		}
		return [5]string{"red", "black", "blue", "white", "green"}
	case ColoursIEC:
		return [5]string{"brown", "black", "grey", "blue", "green and yellow"}
	case ColoursUSLow:
		return s.orange([5]string{"black", "red", "blue", "white", "green"})
	case ColoursUSHigh:
		return s.orange([5]string{"brown", "orange", "yellow", "grey", "green"})
	}
	return [5]string{}
}

func (s Service) orange(all [5]string) [5]string {
	if s.Kind == HighLegDelta {
		all[s.highLeg()-1] = "orange"
	}
	return all
}
