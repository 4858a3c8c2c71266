package main

import (
	"fmt"
	"slices"
	"strings"

	"legwork/probe/learn"
	"legwork/probe/reading"
)

// instrument says in the words of an instrument what is to be measured. A clamp
// goes where the CT is: that may be another leg than it should be.
func instrument(a learn.Ask) string {
	k := a.Point.Index
	switch a.Point.Quantity {
	case reading.Voltage:
		return fmt.Sprintf("What does your multimeter show between voltage input %d and neutral, in V?", k)
	case reading.Current:
		return fmt.Sprintf("What does your clamp show on the conductor that CT %d is round, in A?", k)
	case reading.Power:
		return fmt.Sprintf("What does the meter's display show for the power of channel %d, in kW?", k)
	}
	return "What does the meter's display show for the power of all channels, in kW?"
}

// flagFor is how --measured says what was asked for, up to the value.
func flagFor(a learn.Ask, value string) string {
	what := "total"
	if a.Point.Index > 0 {
		what = fmt.Sprintf("channel %d", a.Point.Index)
	}
	return fmt.Sprintf("%s: %s %s", what, value, unitFor(a))
}

// unitFor is the unit in which instruments show it.
func unitFor(a learn.Ask) string {
	unit := a.Point.Quantity.Unit()
	if unit == "W" {
		return "kW"
	}
	return unit
}

// foundIn says in a line what was found, and from how many ties.
func foundIn(r *learn.Result) string {
	var names, ties []string
	for _, p := range r.Points {
		if name := strings.ReplaceAll(p.Quantity.String(), "_", " "); !slices.Contains(names, name) {
			names = append(names, name)
		}
		for _, t := range p.Ties {
			if text := t.String(); !slices.Contains(ties, text) {
				ties = append(ties, text)
			}
		}
	}
	if names == nil {
		return "Nothing was found among its registers that is sure to be voltage, current and power"
	}
	return fmt.Sprintf("Found, from %d ties: %s", len(ties), strings.Join(names, ", "))
}
