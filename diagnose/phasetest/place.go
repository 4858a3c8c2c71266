package phasetest

import (
	"fmt"
	"strings"

	"legwork/diagnose/wiring"
)

// Mounting says where the CTs go.
type Mounting string

// Where CTs go.
const (
	OnMains  Mounting = "mains"  // round the conductors that feed the panel
	OnBranch Mounting = "branch" // round those that leave a breaker for a load
)

// ParseMounting reads mains or branch.
func ParseMounting(text string) (Mounting, error) {
	if m := Mounting(text); m == OnMains || m == OnBranch {
		return m, nil
	}
	return "", fmt.Errorf("%q is not mains or branch", text)
}

// Palette is a practice of colouring conductors. Local code rules; colours are a
// hint, never proof of a leg.
type Palette string

// The practices.
const (
	Canada Palette = "canada"  // CEC Part I, colour rule; read in a forum's quotation of it
	USLow  Palette = "us-low"  // 120/208 V and 120/240 V in the USA: common practice, trade tables
	USHigh Palette = "us-high" // 277/480 V in the USA: common practice, trade tables
	IEC    Palette = "iec"     // IEC 60445 with HD 308, encyclopaedia table
)

// Palettes lists the practices by name.
func Palettes() []string {
	return []string{string(Canada), string(USLow), string(USHigh), string(IEC)}
}

// ParsePalette reads the name of a practice; empty is none.
func ParsePalette(text string) (Palette, error) {
	if text == "" {
		return "", nil
	}
	for _, name := range Palettes() {
		if name == text {
			return Palette(text), nil
		}
	}
	return "", fmt.Errorf("%q is not one of %s", text, strings.Join(Palettes(), ", "))
}

// paletteFits reports that the practice is one for the service's voltage: in the
// USA there is one up to 240 V and one above (common practice, trade tables).
func (t Test) paletteFits() bool {
	w := t.worlds()[0]
	w.legs = potentials(t.Service)
	high := t.line(&w) > 250
	return !(t.Colours == USLow && high || t.Colours == USHigh && !high)
}

// colour is the leg's, or nil where neither a person nor the practice gives one.
func (t Test) colour(leg int, high wiring.Leg) *string {
	if name := t.Wires[leg-1]; name != "" {
		return &name
	}
	three := map[Palette][3]string{
		Canada: {"red", "black", "blue"},
		USLow:  {"black", "red", "blue"},
		USHigh: {"brown", "orange", "yellow"},
		IEC:    {"brown", "black", "grey"},
	}[t.Colours]
	name := three[leg-1]
	switch {
	case name == "":
		return nil
	case t.Colours == Canada && t.Service.Kind == wiring.TwoWire:
		return nil // the rule as quoted speaks of three wires and more
	case t.Colours == Canada && t.Service.Kind == wiring.SplitPhase:
		name = [...]string{"black", "red"}[leg-1] // same rule: single-phase three-wire
	case t.Colours == USHigh && t.Service.Kind == wiring.Wye && leg == 2:
		name = "orange or violet"
	case t.Service.Kind == wiring.HighLegDelta && t.Colours == USLow:
		return t.highColour(name, leg, high)
	case t.Service.Kind == wiring.HighLegDelta && t.Colours != IEC:
		return t.highOther(name, leg, high)
	}
	return &name
}

// highColour: in the USA the high leg is orange (common practice, trade tables).
func (t Test) highColour(name string, leg int, high wiring.Leg) *string {
	switch {
	case high == wiring.NoLeg:
		return nil
	case int(high) == leg:
		name = "orange"
	}
	return &name
}

// highOther: in Canada the high leg is phase A and red (same rule, subrule 4);
// where it is found elsewhere, and in tables that don't speak of this service,
// no colour is told.
func (t Test) highOther(name string, leg int, high wiring.Leg) *string {
	if t.Colours == Canada && high == 1 {
		return &name
	}
	if t.Colours == USHigh && int(high) == leg {
		name = "orange"
		return &name
	}
	return nil
}

// places is the table of CTs: channel k on the leg that its voltage input is
// on, once the moves are made. Arrows and marks: common practice, no source.
func (t Test) places(high wiring.Leg) []CTPlace {
	arrow, marks := "into the panel, with the current", "P1 (H1) towards the supply, S1 (X1) from that side"
	if t.On == OnBranch {
		arrow, marks = "away from the breaker, towards the load", "P1 (H1) towards the breaker, S1 (X1) from that side"
	}
	all := []CTPlace{}
	for k := 1; k <= t.Service.Channels(); k++ {
		leg := int(t.Service.HomeLeg(wiring.Channel(k)))
		all = append(all, CTPlace{Channel: k, Leg: LegName(t.Service, leg), Colour: t.colour(leg, high), Arrow: arrow, Marks: marks})
	}
	return all
}
