package advice

import (
	"fmt"

	"legwork/diagnose/internal/infer"
	"legwork/diagnose/wiring"
)

// The first and last step of every move that is made dead.
const (
	stepDead = "Take the load off, open the supply of these conductors, lock it out, and prove every conductor dead, " +
		"the voltage taps too: a tap may be fed from elsewhere"
	stepRestore = "Close up, restore the supply, put the same load on, and read again"
)

// dead wraps steps into a move with everything within reach dead.
func dead(steps ...string) wiring.Move {
	all := append([]string{stepDead}, steps...)
	return wiring.Move{Steps: append(all, stepRestore)}
}

// moves lists the ways to make a group's likeliest arrangement right, the one
// with the least live work first; nothing where nothing is wrong.
func moves(g *infer.Group) []wiring.Move {
	if Stops(g) {
		return KeepAway()
	}
	inputs := inputSteps(g)
	a, s := g.Lead(), g.Service
	reversed := ReversedChannels(a)
	moved := misplaced(a, s)
	if len(inputs)+len(reversed)+len(moved) == 0 {
		return nil
	}
	if len(reversed)+len(moved) == 0 {
		return []wiring.Move{dead(inputs...)}
	}
	return append(deadMoves(g, inputs, moved, reversed), otherMoves(g, inputs, moved, reversed)...)
}

// KeepAway is all that is advised while the service's neutral may be lost.
func KeepAway() []wiring.Move {
	return []wiring.Move{{Steps: wiring.KeepAway(), LiveWork: true}}
}

// deadMoves are those with the supply off: first by the CTs, then by the
// leads at the meter, then by the voltage leads.
func deadMoves(g *infer.Group, inputs []string, moved, reversed []int) []wiring.Move {
	atMeter := leadSteps(g.Lead(), g.Service, moved)
	if atMeter == nil && len(moved) > 0 {
		steps := append(inputs, strayMoves(g.Lead(), g.Service, moved)...)
		return []wiring.Move{dead(append(steps, turnSteps(reversed)...)...)}
	}
	leads := append(append([]string{}, inputs...), atMeter...)
	all := []wiring.Move{dead(append(append([]string{}, leads...), turnSteps(reversed)...)...)}
	if len(reversed) > 0 {
		all = append(all, dead(append(leads, swapLeadSteps(reversed)...)...))
	}
	if volts := voltageSteps(g.Lead(), g.Service, moved); volts != nil {
		steps := append(append([]string{}, inputs...), volts...)
		all = append(all, dead(append(steps, turnSteps(reversed)...)...))
	}
	return all
}

// otherMoves are those beside conductors that can't be dead, or that may be
// live: a setting in the meter, and leads behind a closed shorting block.
func otherMoves(g *infer.Group, inputs []string, moved, reversed []int) []wiring.Move {
	var all []wiring.Move
	if len(inputs)+len(moved) == 0 {
		all = append(all, wiring.Move{LiveWork: true, Steps: []string{
			fmt.Sprintf("Where the meter has a polarity setting for %s, turn it over and write it down; legwork never writes to a meter",
				Plural("current input", numbers(reversed))),
			"Read again at the same load",
		}})
	}
	steps := append(leadSteps(g.Lead(), g.Service, moved), swapLeadSteps(reversed)...)
	if len(inputs) > 0 || (len(moved) > 0 && leadSteps(g.Lead(), g.Service, moved) == nil) {
		return all
	}
	live := append([]string{"Only where the supply can't be taken off, by those licensed for live work and in arc-flash protection: " +
		"close the shorting block of every CT concerned before anything is loosened"}, steps...)
	live = append(live, "Open the shorting blocks last, and read again at the same load")
	return append(all, wiring.Move{Steps: live, LiveWork: true})
}

// leadSteps put right, at the meter's current inputs, CTs that each sit on a
// leg of their own; nil where two share a leg or a leg has no input.
func leadSteps(a wiring.Arrangement, s wiring.Service, moved []int) []string {
	if !permuted(a, s, moved) {
		return nil
	}
	switch len(moved) {
	case 0:
		return nil
	case 2:
		return []string{fmt.Sprintf("Exchange the lead pairs of CTs %d and %d at the meter's current inputs", moved[0]+1, moved[1]+1)}
	}
	return []string{fmt.Sprintf("At the meter's current inputs move the lead pair of CT 1 to input %d, of CT 2 to input %d, of CT 3 to input %d",
		a[0].Leg, a[1].Leg, a[2].Leg)}
}

// voltageSteps put the same right by the voltage leads.
func voltageSteps(a wiring.Arrangement, s wiring.Service, moved []int) []string {
	if len(moved) == 0 || s.Kind == wiring.Delta || !permuted(a, s, moved) {
		return nil
	}
	if len(moved) == 2 {
		return []string{fmt.Sprintf("Exchange the voltage leads of inputs %d and %d", moved[0]+1, moved[1]+1)}
	}
	return []string{fmt.Sprintf("Move the voltage lead of input %d to input 1, of input %d to input 2, of input %d to input 3",
		a[0].Leg, a[1].Leg, a[2].Leg)}
}

// permuted reports whether the moved CTs only exchange places among themselves.
func permuted(a wiring.Arrangement, s wiring.Service, moved []int) bool {
	for _, k := range moved {
		found := 0
		for _, j := range moved {
			if s.HomeLeg(wiring.Channel(j+1)) == a[k].Leg {
				found++
			}
			if j != k && a[j].Leg == a[k].Leg {
				return false
			}
		}
		if found != 1 {
			return false
		}
	}
	return true
}

// strayMoves put CTs round the conductors where they belong.
func strayMoves(a wiring.Arrangement, s wiring.Service, moved []int) []string {
	var steps []string
	for _, k := range moved {
		if a[k].Leg == wiring.OnNeutral {
			steps = append(steps, fmt.Sprintf("Move CT %d from the neutral to the conductor of leg %d, its arrow along the power to the load",
				k+1, s.HomeLeg(wiring.Channel(k+1))))
			continue
		}
		steps = append(steps, fmt.Sprintf("Move CT %d from the conductor of leg %d to that of leg %d, its arrow the same way along it",
			k+1, a[k].Leg, s.HomeLeg(wiring.Channel(k+1))))
	}
	return steps
}

func turnSteps(reversed []int) []string {
	if len(reversed) == 0 {
		return nil
	}
	return []string{"Turn " + Plural("CT", numbers(reversed)) + " round on the conductor, leads untouched"}
}

func swapLeadSteps(reversed []int) []string {
	if len(reversed) == 0 {
		return nil
	}
	return []string{"Exchange the two leads of " + Plural("CT", numbers(reversed)) +
		" at the meter, only where neither lead is grounded or shared, and keep the one ground point"}
}

func numbers(channels []int) []string {
	names := make([]string, len(channels))
	for i, k := range channels {
		names[i] = fmt.Sprint(k)
	}
	return names
}

// inputSteps put the voltage inputs right.
func inputSteps(g *infer.Group) []string {
	var steps []string
	for k := range g.Service.Channels() {
		switch g.State[k] {
		case wiring.InputDead:
			steps = append(steps, fmt.Sprintf("Test the fuse, the reference breaker and the lead of voltage input %d, and mend what is open", k+1))
		case wiring.InputShared:
			steps = append(steps, fmt.Sprintf("Move voltage input %d to the conductor of leg %d", k+1, k+1))
		case wiring.InputNeutralCrossed:
			steps = append(steps, fmt.Sprintf("Exchange the neutral lead and the lead of voltage input %d at the meter", k+1))
		case wiring.InputLow:
			if g.Severe[k] {
				steps = append(steps, fmt.Sprintf("Find what feeds voltage input %d: an open lead with something back-feeding it, or a lost neutral", k+1))
			}
		}
	}
	return steps
}

// Stops reports voltages so high that a lost neutral of the service is possible.
func Stops(g *infer.Group) bool {
	for k := range g.Service.Channels() {
		if g.State[k] == wiring.InputHigh && g.Severe[k] {
			return true
		}
	}
	return false
}
