package advice

import (
	"fmt"
	"slices"
	"strings"

	"legwork/diagnose/internal/infer"
	"legwork/diagnose/wiring"
)

// words names what a group claims, in one clause without a full stop.
func words(g *infer.Group) string {
	claims := append(sizeWords(g), inputWords(g.State, g.Service.Channels())...)
	claims = append(claims, CTWords(g.Lead(), g.Service)...)
	if len(claims) == 0 {
		return rightWords(g)
	}
	return strings.Join(claims, "; ")
}

func rightWords(g *infer.Group) string {
	var judged []string
	for k := range g.Service.Channels() {
		if g.Judged[k] {
			judged = append(judged, fmt.Sprint(k+1))
		}
	}
	switch len(judged) {
	case 0:
		return "no channel can be judged"
	case g.Service.Channels():
		return "every CT sits where it belongs"
	}
	return Plural("CT", judged) + " " + isAre(judged) + " where " + itThey(judged) + " should be"
}

// sizeWords says which voltages are far from what they should be.
func sizeWords(g *infer.Group) []string {
	var high, low []string
	for k := range g.Service.Channels() {
		switch {
		case !g.Severe[k] || g.State[k] == wiring.InputDead:
		case g.State[k] == wiring.InputHigh:
			high = append(high, fmt.Sprint(k+1))
		case g.State[k] == wiring.InputLow:
			low = append(low, fmt.Sprint(k+1))
		}
	}
	var claims []string
	if len(high) > 0 {
		claims = append(claims, Plural("voltage input", high)+" "+isAre(high)+" far too high: the service's neutral may be lost")
	}
	if len(low) > 0 && len(high) == 0 {
		claims = append(claims, Plural("voltage input", low)+" "+isAre(low)+" low: back-fed through an open lead, or a neutral is lost")
	}
	return claims
}

// inputWords says what is wrong with the voltage inputs.
func inputWords(state [3]wiring.InputState, n int) []string {
	var claims []string
	if state[1] == wiring.InputShared && state[2] == wiring.InputShared {
		return []string{"all voltage inputs are on one conductor"}
	}
	for k := range n {
		switch state[k] {
		case wiring.InputDead:
			claims = append(claims, fmt.Sprintf("voltage input %d is dead", k+1))
		case wiring.InputShared:
			claims = append(claims, fmt.Sprintf("voltage input %d is on the same conductor as another input", k+1))
		case wiring.InputNeutralCrossed:
			claims = append(claims, fmt.Sprintf("the neutral and the conductor of voltage input %d are crossed", k+1))
		}
	}
	return claims
}

// CTWords says what is wrong with the CTs that are judged.
func CTWords(a wiring.Arrangement, s wiring.Service) []string {
	pairing := pairingWords(a, s)
	reversed := ReversedChannels(a)
	names := make([]string, len(reversed))
	for i, k := range reversed {
		names[i] = fmt.Sprint(k)
	}
	judged := 0
	for _, c := range a {
		if c.Leg != wiring.NoLeg {
			judged++
		}
	}
	switch {
	case len(names) == 0:
		return pairing
	case len(names) == judged && judged > 1 && len(pairing) > 0:
		return append(pairing, "all of them are also reversed")
	case len(names) == judged && judged == s.Channels() && judged > 1:
		return append(pairing, "all CTs are reversed")
	case len(pairing) > 0:
		return append(pairing, Plural("CT", names)+" "+isAre(names)+" also reversed")
	}
	return []string{Plural("CT", names) + " " + isAre(names) + " reversed"}
}

func ReversedChannels(a wiring.Arrangement) []int {
	var all []int
	for k, c := range a {
		if c.Leg != wiring.NoLeg && c.Leg != wiring.OnNeutral && c.Reversed {
			all = append(all, k+1)
		}
	}
	return all
}

func onNeutral(a wiring.Arrangement) bool {
	return slices.ContainsFunc(a[:], func(c wiring.CT) bool { return c.Leg == wiring.OnNeutral })
}

// pairingWords says which CTs sit on another leg than theirs.
func pairingWords(a wiring.Arrangement, s wiring.Service) []string {
	moved := misplaced(a, s)
	if len(moved) == 2 {
		i, j := moved[0], moved[1]
		if a[i].Leg == s.HomeLeg(wiring.Channel(j+1)) && a[j].Leg == s.HomeLeg(wiring.Channel(i+1)) {
			return []string{fmt.Sprintf("CTs %d and %d are crossed", i+1, j+1)}
		}
	}
	if len(moved) == 3 && distinct(a) && !onNeutral(a) {
		return []string{fmt.Sprintf("the CTs are rolled: 1 on leg %d, 2 on leg %d, 3 on leg %d", a[0].Leg, a[1].Leg, a[2].Leg)}
	}
	var claims []string
	for _, k := range moved {
		claims = append(claims, strayWords(a, k))
	}
	return claims
}

func strayWords(a wiring.Arrangement, k int) string {
	if a[k].Leg == wiring.OnNeutral {
		return fmt.Sprintf("CT %d is on the neutral", k+1)
	}
	for j, c := range a {
		if j != k && c.Leg == a[k].Leg {
			return fmt.Sprintf("CT %d sits on leg %d, where CT %d is", k+1, a[k].Leg, j+1)
		}
	}
	return fmt.Sprintf("CT %d sits on leg %d", k+1, a[k].Leg)
}

// misplaced lists the channels, from 0, whose CT sits on another leg than its own.
func misplaced(a wiring.Arrangement, s wiring.Service) []int {
	var moved []int
	for k := range s.Channels() {
		if a[k].Leg != wiring.NoLeg && a[k].Leg != s.HomeLeg(wiring.Channel(k+1)) {
			moved = append(moved, k)
		}
	}
	return moved
}

func distinct(a wiring.Arrangement) bool {
	return a[0].Leg != a[1].Leg && a[1].Leg != a[2].Leg && a[2].Leg != a[0].Leg
}

// Plural is "CT 2" or "CTs 1 and 2" or "CTs 1, 2 and 3".
func Plural(noun string, names []string) string {
	if len(names) == 1 {
		return noun + " " + names[0]
	}
	return noun + "s " + Listed(names)
}

func Listed(names []string) string {
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	return strings.Join(names[:len(names)-1], ", ") + " and " + names[len(names)-1]
}

// Times says how often.
func Times(n int) string {
	switch n {
	case 1:
		return "once"
	case 2:
		return "twice"
	}
	return fmt.Sprintf("%d times", n)
}

func isAre(names []string) string {
	if len(names) == 1 {
		return "is"
	}
	return "are"
}

func itThey(names []string) string {
	if len(names) == 1 {
		return "it"
	}
	return "they"
}
