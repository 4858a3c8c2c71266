package phasetest

import "legwork/diagnose/wiring"

// coloursFit reports that the colour code is one for the service's voltage: in the
// USA there is one up to 240 V and one above (common practice, trade tables).
func (t Test) coloursFit() bool {
	w := t.worlds()[0]
	w.legs = potentials(t.Service)
	high := t.line(&w) > 250
	return !(t.Colours == wiring.ColoursUSLow && high || t.Colours == wiring.ColoursUSHigh && !high)
}

// colour is the leg's, or nil where neither a person nor the colour code gives one.
func (t Test) colour(leg int, high wiring.Leg) *string {
	if name := t.Wires[leg-1]; name != "" {
		return &name
	}
	s := t.Service
	s.HighLeg = high
	name := t.Colours.Conductors(s)[leg-1]
	switch {
	case name == "" || t.silent(wiring.Leg(leg), high):
		return nil
	case t.Colours == wiring.ColoursUSHigh && s.Kind == wiring.Wye && leg == 2:
		name = "orange or violet"
	}
	return &name
}

// silent reports a leg of which the colour code says nothing sure. Canada's rule
// as quoted speaks of three wires and more, and has the high leg as phase A, red
// (subrule 4); of the United States' tables the one above 250 V doesn't speak of a
// four-wire delta, but its high leg is orange in any.
func (t Test) silent(leg, high wiring.Leg) bool {
	delta := t.Service.Kind == wiring.HighLegDelta
	switch t.Colours {
	case wiring.ColoursCanada:
		return t.Service.Kind == wiring.TwoWire || delta && high != 1
	case wiring.ColoursUSLow:
		return delta && high == wiring.NoLeg
	case wiring.ColoursUSHigh:
		return delta && leg != high
	}
	return false
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
		all = append(all, CTPlace{Channel: k, Leg: LegName(t.Service, leg), Colour: t.colour(leg, high), Arrow: arrow,
			Marks: marks})
	}
	return all
}
