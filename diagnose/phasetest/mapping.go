package phasetest

import (
	"fmt"
	"math"
	"math/cmplx"
	"strings"

	"legwork/diagnose/wiring"
)

// state is where a pole is: 0, 1, 2 for the legs, or one of these.
type state int

const (
	deadPole  state = -1 // on no leg: open, dead, back-fed or on the neutral
	elsewhere state = -2 // on a leg of the supply that isn't among these
)

// mapping gives the state of each pole, pole 1 first.
type mapping []state

// states lists where one pole can be. A leg elsewhere is possible where the
// supply has more legs than the service; a continuity tester can't show it.
func (t Test) states() []state {
	var all []state
	for i := range t.Service.Legs() {
		all = append(all, state(i))
	}
	if others(t.Service) != nil && !t.Dead {
		all = append(all, elsewhere)
	}
	return append(all, deadPole)
}

// statesAt lists where a point can be: a pole anywhere, a leg and the neutral
// where they are, for which 0 stands.
func (t Test) statesAt(p Point) []state {
	if p.Kind != Pole {
		return []state{0}
	}
	return t.states()
}

// others are the potentials, V, of the supply's legs that the service leaves
// out: the third of a wye, or for two wires those of a wye or of 120/240.
func others(s wiring.Service) []complex128 {
	at := func(degrees float64) complex128 { return cmplx.Rect(s.Nominal, degrees*math.Pi/180) }
	switch s.Kind {
	case wiring.WyeLegs:
		return []complex128{at(120)}
	case wiring.TwoWire:
		return []complex128{at(120), at(180)}
	}
	return nil
}

// mappings lists all there are, the first with every pole on its own leg.
func (t Test) mappings() []mapping {
	all := []mapping{{}}
	for range t.Poles() {
		var longer []mapping
		for _, m := range all {
			for _, s := range t.states() {
				longer = append(longer, append(append(mapping(nil), m...), s))
			}
		}
		all = longer
	}
	return all
}

// name is what a state is called: a leg's name, "no leg" or "another leg". What is on no
// leg is not called dead: it may be fed from elsewhere.
func (t Test) name(s state) string {
	switch s {
	case deadPole:
		return "no leg"
	case elsewhere:
		return "another leg"
	}
	return LegName(t.Service, int(s)+1)
}

// words says where a pole is: "on leg A", "on no leg".
func (t Test) words(s state) string {
	switch s {
	case deadPole:
		return "on no leg"
	case elsewhere:
		return "on a leg that isn't among these"
	}
	return "on leg " + t.name(s)
}

// said is a mapping in words: "pole 1 on leg A, pole 2 on no leg".
func (t Test) said(m mapping) string {
	text := ""
	for k, s := range m {
		if k > 0 {
			text += ", "
		}
		text += fmt.Sprintf("pole %d %s", k+1, t.words(s))
	}
	return text
}

// listed joins names as a sentence does.
func listed(names []string) string {
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	return strings.Join(names[:len(names)-1], ", ") + " and " + names[len(names)-1]
}
