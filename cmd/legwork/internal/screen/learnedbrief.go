package screen

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"legwork/probe/learn"
	"legwork/probe/reading"
)

// LearnedBrief says in a line what was found, and from how many ties.
func LearnedBrief(r *learn.Result) string {
	var names []string
	for _, q := range quantitiesOf(r.Points) {
		names = append(names, quantityWords(q))
	}
	if names == nil {
		return "Nothing was found among its registers that is sure to be voltage, current and power"
	}
	return fmt.Sprintf("Found, from %s: %s", Count(len(tiesOf(r)), "tie", "ties"), strings.Join(names, ", "))
}

// Question asks for a measurement in the words of its instrument. A clamp goes
// where the CT is: that may be another leg than it should be.
func Question(p reading.Point, r *learn.Result) string {
	switch p.Quantity {
	case reading.Voltage:
		return fmt.Sprintf("What does your multimeter show between %s, in V?", inputsOf(p.Index, r))
	case reading.Current:
		return fmt.Sprintf("What does your clamp show on the conductor that CT %d is round, in A?", p.Index)
	case reading.Power:
		return fmt.Sprintf("What power of channel %d does the meter's display show, in kW?", p.Index)
	}
	return "What power in all does the meter's display show, in kW?"
}

// inputsOf is where the voltage of a channel is: on a three-wire delta, where there is
// no neutral, between its leg and the one that both channels share.
func inputsOf(channel int, r *learn.Result) string {
	text := fmt.Sprintf("voltage input %d and neutral", channel)
	if likeDelta(r) {
		text += " (on a three-wire delta: and the common input, leg B)"
	}
	return text
}

// likeDelta reports voltages that may be from line to line, as on a three-wire delta:
// near 240, 480 or 600 V. How near is our choice.
func likeDelta(r *learn.Result) bool {
	n := 0
	for _, p := range slices.Concat(r.Points, r.Open) {
		if p.Quantity != reading.Voltage {
			continue
		}
		near := func(v float64) bool { return math.Abs(p.Reads/v-1) < 0.04 }
		if n++; !slices.ContainsFunc([]float64{240, 480, 600}, near) {
			return false
		}
	}
	return n > 0
}

// MeasuredAs is how --measured says a value, in the unit that MeasuredIn gives.
func MeasuredAs(p reading.Point, value string) string {
	return fmt.Sprintf("%s: %s %s", measuredName(p), value, MeasuredIn(p))
}

// MeasuredIn is the unit in which instruments show a point.
func MeasuredIn(p reading.Point) string {
	if unit := p.Quantity.Unit(); unit != "W" {
		return unit
	}
	return "kW"
}
