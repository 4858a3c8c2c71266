package sim

import "fmt"

// mistakesOn lists what can be done wrong on a service, by channel.
func mistakesOn(s Service) []Mistake {
	var all []Mistake
	for k := 1; k <= s.Channels(); k++ {
		all = append(all, mistakesOfCT(s, k)...)
		all = append(all, mistakesOfInput(s, k)...)
		for j := 1; j < k; j++ {
			all = append(all, mistakesOfPair(j, k)...)
		}
	}
	return append(all, mistakesOfAll(s)...)
}

// backFed is what is left of the voltage of an input with an open fuse that
// something else feeds. 10 to 80 % occurs; our choice, no source.
const backFed = 0.35

// mistakesOfCT are those of one CT. A ratio off by two is a standard step: 50 A
// for 100 A, say (IEC 61869-2, 5.201).
func mistakesOfCT(s Service, k int) []Mistake {
	name := func(what string) string { return fmt.Sprintf("ct%d-%s", k, what) }
	all := []Mistake{
		{name("reversed"), func(w *Wiring) { w.TurnCT(k) }},
		{name("open"), func(w *Wiring) { w.CTs[k-1].Open = true }},
		{name("shorted"), func(w *Wiring) { w.CTs[k-1].Shorted = true }},
		{name("half-ratio"), func(w *Wiring) { w.CTs[k-1].Ratio /= 2 }},
		{name("double-ratio"), func(w *Wiring) { w.CTs[k-1].Ratio *= 2 }},
	}
	for i := range s.Legs() {
		if leg(i) != s.home(k-1) {
			all = append(all, Mistake{name(fmt.Sprintf("on-leg%d", i+1)), func(w *Wiring) { w.CTs[k-1].Round = leg(i) }})
		}
	}
	if s.HasNeutral() {
		all = append(all, Mistake{name("on-neutral"), func(w *Wiring) { w.CTs[k-1].Round = Neutral }})
	}
	return all
}

// mistakesOfInput are those of one voltage input.
func mistakesOfInput(s Service, k int) []Mistake {
	name := func(what string) string { return fmt.Sprintf("v%d-%s", k, what) }
	all := []Mistake{
		{name("dead"), func(w *Wiring) { w.Inputs[k-1] = Nothing }},
		{name("loose"), func(w *Wiring) { w.Loose[k-1] = true }},
		{name("low"), func(w *Wiring) { w.BackFed[k-1] = backFed }},
		{fmt.Sprintf("vn-v%d-crossed", k), func(w *Wiring) { w.CrossNeutral(k) }},
	}
	for i := range s.Legs() {
		if leg(i) != s.home(k-1) {
			all = append(all, Mistake{name(fmt.Sprintf("on-leg%d", i+1)), func(w *Wiring) { w.Inputs[k-1] = leg(i) }})
		}
	}
	return all
}

// mistakesOfPair exchange something of two channels; either may be named first.
func mistakesOfPair(j, k int) []Mistake {
	cts := func(w *Wiring) { w.CrossCTs(j, k) }
	inputs := func(w *Wiring) { w.CrossInputs(j, k) }
	return []Mistake{
		{fmt.Sprintf("ct%d-ct%d-crossed", j, k), cts}, {fmt.Sprintf("ct%d-ct%d-crossed", k, j), cts},
		{fmt.Sprintf("v%d-v%d-crossed", j, k), inputs}, {fmt.Sprintf("v%d-v%d-crossed", k, j), inputs},
	}
}

// mistakesOfAll are those that aren't of a channel.
func mistakesOfAll(s Service) []Mistake {
	all := []Mistake{
		{"cts-reversed", (*Wiring).TurnCTs},
		{"meter-neutral-lost", func(w *Wiring) { w.Common = Nothing }}, // on a delta: the common lead
	}
	if s.HasNeutral() {
		all = append(all, Mistake{"neutral-lost", func(w *Wiring) { w.NeutralLost = true }})
	}
	if s.Channels() == 3 {
		all = append(all, Mistake{"cts-rolled", (*Wiring).RollCTs},
			Mistake{"cts-rolled-back", func(w *Wiring) { w.RollCTs(); w.RollCTs() }})
	}
	return all
}
