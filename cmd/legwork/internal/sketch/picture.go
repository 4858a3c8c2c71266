package sketch

import (
	"fmt"
	"slices"

	"legwork/diagnose/wiring"
)

// Contact is how the lead of a voltage input meets its conductor.
type Contact uint8

// The contacts.
const (
	Tapped Contact = iota // live
	Unsure                // low, high or not read
	Open                  // dead
)

// Tap is a voltage input of the meter, or its neutral or common.
type Tap struct {
	Name    string // "V1", "N"
	Row     int    // of the conductor, from 0; nowhere where it isn't known
	Contact Contact
}

// nowhere is the row of what isn't on any conductor, as far as is known.
const nowhere = -1

// CT is the current transformer landed on a current input.
type CT struct {
	Name     string // of the input: "I1"
	Row      int    // of the conductor, from 0; nowhere where it wasn't judged
	ToSupply bool   // the direction it is taken to point
}

// Side says which inputs a Mark is about.
type Side uint8

// The sides.
const (
	Volts Side = iota
	Amps
)

// Mark is a word beneath one input, or beneath two that are to be exchanged.
type Mark struct {
	Side Side
	At   int // the tap or CT, from 0
	With int // the other one of a pair, above At; else At
	Word string
}

// Picture is a wiring ready to be drawn.
type Picture struct {
	Rows  []string // the conductors' names
	Taps  []Tap    // the neutral or common first
	CTs   []CT
	Marks []Mark
}

// Of makes the picture of a wiring.
func Of(w Wiring) Picture {
	var p Picture
	delta := w.Service.Kind == wiring.Delta
	for leg := range w.Service.Legs() {
		name := fmt.Sprintf("leg %d", leg+1)
		if delta {
			name += " " + string("ABC"[leg])
		}
		p.Rows = append(p.Rows, name)
	}
	back := Tap{Name: "N", Row: len(p.Rows)}
	if delta {
		back = Tap{Name: "com", Row: 1} // leg B is the common of both elements
	} else {
		p.Rows = append(p.Rows, "neutral")
	}
	p.Taps = append(p.Taps, back)
	for k := range w.Service.Channels() {
		p.tap(w, k)
	}
	for k := range w.Service.Channels() {
		p.CTs = append(p.CTs, CT{fmt.Sprintf("I%d", k+1), p.row(w, w.CT[k].Leg), w.CT[k].Reversed})
	}
	p.markCTs(w)
	if slices.Contains(w.CT[:w.Service.Channels()], wiring.CT{}) {
		p.Marks = append(p.Marks, Mark{Volts, 0, 0, legend})
	}
	return p
}

// row is the place of a leg among the conductors.
func (p *Picture) row(w Wiring, leg wiring.Leg) int {
	switch {
	case leg == wiring.OnNeutral && w.Service.Kind != wiring.Delta:
		return w.Service.Legs()
	case leg == wiring.NoLeg || int(leg) > w.Service.Legs():
		return nowhere
	}
	return int(leg) - 1
}

// tap adds the voltage input of channel k, from 0, and its mark.
func (p *Picture) tap(w Wiring, k int) {
	at := len(p.Taps)
	t := Tap{Name: fmt.Sprintf("V%d", k+1), Row: int(w.Service.HomeLeg(wiring.Channel(k+1))) - 1}
	mark := func(word string) { p.Marks = append(p.Marks, Mark{Volts, at, at, word}) }
	switch w.Input[k] {
	case wiring.InputDead:
		t.Contact = Open
		mark(t.Name + " dead")
	case wiring.InputLow:
		t.Contact = Unsure
		mark(t.Name + " low")
	case wiring.InputHigh:
		t.Contact = Unsure
		mark(t.Name + " high")
	case wiring.InputShared:
		t.Row = p.row(w, w.Shares[k])
		mark(w.either("move "+t.Name, t.Name+" shared"))
	case wiring.InputNeutralCrossed:
		p.Taps[0].Row, t.Row = t.Row, p.Taps[0].Row
		p.Marks = append(p.Marks, Mark{Volts, 0, at, w.either(exchange, crossed)})
	case wiring.InputUnknown:
		t.Contact = Unsure
	}
	p.Taps = append(p.Taps, t)
}

// The words of marks that are used twice.
const (
	exchange = "exchange"
	crossed  = "crossed"
	unjudged = "?"
	legend   = unjudged + " not judged"
)

// either is the word for what is to be done, or for what is so where nothing is to be moved.
func (w Wiring) either(do, is string) string {
	if w.Keep {
		return is
	}
	return do
}

// markCTs says beneath each CT what is to be done with it: first where it goes, then which way round.
func (p *Picture) markCTs(w Wiring) {
	var stray []int
	for k := range p.CTs {
		switch leg := w.CT[k].Leg; {
		case leg == wiring.NoLeg:
			p.mark(k, k, unjudged)
		case leg != w.Service.HomeLeg(wiring.Channel(k+1)):
			stray = append(stray, k)
		}
	}
	home := make(map[int]int, len(stray)) // of each stray one: the input whose leg it is on
	for _, k := range stray {
		for _, j := range stray {
			if w.CT[k].Leg == w.Service.HomeLeg(wiring.Channel(j+1)) {
				home[k] = j
			}
		}
	}
	switch {
	case len(stray) == 2 && permutes(home, 2):
		p.mark(stray[0], stray[1], w.either(exchange, crossed))
	case w.Keep:
	case !permutes(home, len(stray)):
		for _, k := range stray {
			p.mark(k, k, "move")
		}
	default:
		for _, k := range stray {
			p.mark(k, k, fmt.Sprintf("to I%d", home[k]+1))
		}
	}
	for k, c := range p.CTs {
		if c.ToSupply && w.CT[k].Leg != wiring.OnNeutral { // one that is moved from the neutral is put on anew
			p.mark(k, k, w.either("turn", "reversed"))
		}
	}
}

func (p *Picture) mark(at, with int, word string) {
	p.Marks = append(p.Marks, Mark{Amps, at, with, word})
}

// permutes reports that so many CTs only have each other's places, so that their leads at the meter put it right.
func permutes(home map[int]int, n int) bool {
	taken := make(map[int]bool, n)
	for _, j := range home {
		taken[j] = true
	}
	return len(home) == n && len(taken) == n
}
