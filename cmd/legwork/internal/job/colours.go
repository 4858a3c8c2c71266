package job

import (
	"fmt"
	"slices"
	"strings"

	"legwork/diagnose/wiring"
	"legwork/probe/sheet"
)

// colours of the conductors: line 1, 2, 3, neutral, earth. A hint that a person
// edits, never proof of a phase; local code rules.
type colours [5]string

// The presets. Canada: CEC Part I, the rule on colours of conductors (4-036 in
// older editions), its lines 1 and 2 of a single-phase service and its high leg
// of a four-wire delta too. IEC: brown, black, grey by the practice of CENELEC's
// countries (HD 308; IEC 60445 names the colours, not their order). United
// States: common practice, for the code leaves colours of phases open, but for
// the orange high leg (NEC 110.15, by memory); 120/240 by memory.
var (
	canada       = colours{"red", "black", "blue", "white", "green"}
	canadaSplit  = colours{"black", "red", "", "white", "green"}
	iec          = colours{"brown", "black", "grey", "blue", "green and yellow"}
	statesLow    = colours{"black", "red", "blue", "white", "green"}
	statesHigh   = colours{"brown", "orange", "yellow", "grey", "green"}
	statesOrange = colours{"black", "orange", "blue", "white", "green"}
)

// Regions lists the presets of colours by name.
func Regions() []string { return []string{"canada", "iec", "us", "none"} }

// coloursOf picks a preset. Without a region only services that tell theirs
// have one: 347/600 is Canada's, 230/400 is of IEC's countries (IEC 60038 and
// common practice); 120/208 is black-red or red-black by country, and left blank.
func coloursOf(region string, s wiring.Service) (colours, error) {
	if region != "" && !slices.Contains(Regions(), region) {
		err := fmt.Errorf("%q is not a region; there are %s", region, strings.Join(Regions(), ", "))
		if near := sheet.Near(region, Regions()); near != "" {
			err = fmt.Errorf("%w; did you mean %s?", err, near)
		}
		return colours{}, err
	}
	if region == "" {
		region = map[string]string{"347/600Y": "canada", "600D": "canada", "230/400Y": "iec", "230": "iec"}[s.Name]
	}
	switch region {
	case "canada":
		if s.Kind == wiring.SplitPhase {
			return canadaSplit, nil
		}
		return canada, nil
	case "iec":
		return iec, nil
	case "us":
		return statesOf(s), nil
	}
	return colours{}, nil
}

func statesOf(s wiring.Service) colours {
	switch {
	case s.Kind == wiring.HighLegDelta:
		return statesOrange
	case s.Nominal > 250: // 277/480 and up
		return statesHigh
	}
	return statesLow
}

// table is the preset for a number of legs.
func (c colours) table(legs int) []Conductor {
	var all []Conductor
	for i, name := range []string{"1", "2", "3", "neutral", "earth"} {
		if i < legs || i > 2 {
			all = append(all, Conductor{name, c[i]})
		}
	}
	return all
}
