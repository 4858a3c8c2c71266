package screen

import (
	"fmt"
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
func Question(p reading.Point) string {
	switch p.Quantity {
	case reading.Voltage:
		return fmt.Sprintf("What does your multimeter show between voltage input %d and neutral, in V?", p.Index)
	case reading.Current:
		return fmt.Sprintf("What does your clamp show on the conductor that CT %d is round, in A?", p.Index)
	case reading.Power:
		return fmt.Sprintf("What power of channel %d does the meter's display show, in kW?", p.Index)
	}
	return "What power in all does the meter's display show, in kW?"
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
