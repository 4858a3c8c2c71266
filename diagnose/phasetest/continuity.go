package phasetest

import (
	"fmt"
	"slices"
	"strings"

	"legwork/probe/reading"
)

// A resistance up to closedBelow is one conductor with its fuses, contacts and the
// tester's leads; from openAbove it is insulation. Between the two lies a load or a
// winding. Our choice.
const (
	closedBelow = 5.0  // ohm
	openAbove   = 10e3 // ohm
)

// Words that testers show, and that people say, for each outcome: common practice,
// no source.
var (
	closedWords = []string{"closed", "beep", "beeps", "tone"}
	openWords   = []string{"open", "ol", "o.l", "0l", "0.l", "no beep", "no tone", "silent"}
)

// parseContinuity reads what a continuity tester showed or an ohmmeter read.
func parseContinuity(text string) (closed bool, err error) {
	word := strings.ToLower(strings.Join(strings.Fields(text), " "))
	switch {
	case slices.Contains(closedWords, word):
		return true, nil
	case slices.Contains(openWords, word):
		return false, nil
	}
	ohms, err := parseOhms(text)
	switch {
	case err != nil:
		return false, fmt.Errorf("%s is not closed or open; a dead test reads closed, beep or 0.2 ohm, or else open or "+
			"OL; volts are for a live one", text)
	case ohms < 0:
		return false, fmt.Errorf("%s is below zero: zero the tester on its own leads, and read again", text)
	case ohms > closedBelow && ohms < openAbove:
		return false, fmt.Errorf("%s is neither closed (up to %g ohm) nor open (from %g kohm): a load or a winding may lie "+
			"between; isolate it, and read again", text, closedBelow, openAbove/1000)
	}
	return ohms <= closedBelow, nil
}

// parseOhms reads a resistance; a bare number is none, it may be volts.
func parseOhms(text string) (float64, error) {
	plain := strings.NewReplacer("Ω", "ohm", "Ω", "ohm", "ohms", "ohm", "Ohm", "ohm", "OHM", "ohm").Replace(text)
	if !strings.HasSuffix(plain, "ohm") {
		return 0, fmt.Errorf("%q has no ohm", text)
	}
	return reading.ParseQuantity(plain, "ohm")
}
