package sim

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"legwork/probe/sheet"
)

// mistake is one thing done wrong, by name.
type mistake struct {
	pattern *regexp.Regexp // its groups are channel numbers
	example string
	needs   int // channels that the service must have
	do      func(w *Wiring, s *Supply, k []int)
}

// mistakes lists what can be done wrong. Channels are counted from 0 in do.
func mistakes() []mistake {
	return []mistake{
		{re(`ct(\d)-reversed`), "ct1-reversed", 1, func(w *Wiring, _ *Supply, k []int) { w.CTs[k[0]].Turned = !w.CTs[k[0]].Turned }},
		{re(`ct(\d)-open`), "ct2-open", 1, func(w *Wiring, _ *Supply, k []int) { w.CTs[k[0]].Open = true }},
		{re(`ct(\d)-shorted`), "ct2-shorted", 1, func(w *Wiring, _ *Supply, k []int) { w.CTs[k[0]].Open = true }},
		{re(`ct(\d)-half-ratio`), "ct2-half-ratio", 1, func(w *Wiring, _ *Supply, k []int) { w.CTs[k[0]].Ratio *= 0.5 }},
		{re(`ct(\d)-double-ratio`), "ct2-double-ratio", 1, func(w *Wiring, _ *Supply, k []int) { w.CTs[k[0]].Ratio *= 2 }},
		{re(`ct(\d)-ct(\d)-crossed`), "ct1-ct2-crossed", 2, func(w *Wiring, _ *Supply, k []int) {
			w.CTs[k[0]].Round, w.CTs[k[1]].Round = w.CTs[k[1]].Round, w.CTs[k[0]].Round
		}},
		{re(`cts-rolled`), "cts-rolled", 3, func(w *Wiring, _ *Supply, _ []int) {
			w.CTs[0].Round, w.CTs[1].Round, w.CTs[2].Round = w.CTs[1].Round, w.CTs[2].Round, w.CTs[0].Round
		}},
		{re(`cts-rolled-back`), "cts-rolled-back", 3, func(w *Wiring, _ *Supply, _ []int) {
			w.CTs[0].Round, w.CTs[1].Round, w.CTs[2].Round = w.CTs[2].Round, w.CTs[0].Round, w.CTs[1].Round
		}},
		{re(`cts-reversed`), "cts-reversed", 1, func(w *Wiring, s *Supply, _ []int) {
			for i := range s.Channels() {
				w.CTs[i].Turned = !w.CTs[i].Turned
			}
		}},
		{re(`ct(\d)-on-leg(\d)`), "ct2-on-leg1", 2, func(w *Wiring, s *Supply, k []int) { w.CTs[k[0]].Round = s.Legs[k[1]] }},
		{re(`v(\d)-v(\d)-crossed`), "v1-v2-crossed", 2, func(w *Wiring, _ *Supply, k []int) {
			w.Inputs[k[0]], w.Inputs[k[1]] = w.Inputs[k[1]], w.Inputs[k[0]]
		}},
		{re(`v(\d)-dead`), "v3-dead", 1, func(w *Wiring, _ *Supply, k []int) { w.Inputs[k[0]] = Nothing }},
		{re(`v(\d)-low`), "v2-low", 1, func(w *Wiring, _ *Supply, k []int) { w.Inputs[k[0]], w.BackFed[k[0]] = Nothing, 0.35 }},
		{re(`v(\d)-on-leg(\d)`), "v2-on-leg1", 2, func(w *Wiring, s *Supply, k []int) { w.Inputs[k[0]] = s.Legs[k[1]] }},
		{re(`vn-v(\d)-crossed`), "vn-v1-crossed", 1, func(w *Wiring, _ *Supply, k []int) {
			w.Common, w.Inputs[k[0]] = w.Inputs[k[0]], w.Common
		}},
		{re(`neutral-lost`), "neutral-lost", 2, func(w *Wiring, _ *Supply, _ []int) { w.NeutralLost = true }},
	}
}

func re(s string) *regexp.Regexp { return regexp.MustCompile("^" + s + "$") }

// Mistakes lists an example of every mistake that can be simulated.
func Mistakes() []string {
	var all []string
	for _, m := range mistakes() {
		all = append(all, m.example)
	}
	return all
}

// ApplyMistakes makes the mistakes of a comma list on a wiring. The error says
// which isn't known, or isn't possible on the service.
func ApplyMistakes(w *Wiring, s *Supply, list string) error {
	for _, name := range strings.Split(list, ",") {
		name = strings.TrimSpace(name)
		if name == "" {
			continue
		}
		if err := applyOne(w, s, name); err != nil {
			return err
		}
	}
	return nil
}

func applyOne(w *Wiring, s *Supply, name string) error {
	for _, m := range mistakes() {
		groups := m.pattern.FindStringSubmatch(name)
		if groups == nil {
			continue
		}
		n := s.Channels()
		if n < m.needs {
			return fmt.Errorf("fault %q wants %d channels, and %s has %d", name, m.needs, s.Name, n)
		}
		if strings.HasPrefix(name, "vn-") && !s.HasNeutral || m.example == "neutral-lost" && !s.HasNeutral {
			return fmt.Errorf("fault %q wants a neutral, and %s has none", name, s.Name)
		}
		k, err := channelsOf(groups[1:], name, s)
		if err != nil {
			return err
		}
		m.do(w, s, k)
		return nil
	}
	if near := sheet.Near(name, Mistakes()); near != "" {
		return fmt.Errorf("%q is not a fault that can be simulated; did you mean %s?", name, near)
	}
	return fmt.Errorf("%q is not a fault that can be simulated; there are %s", name, strings.Join(Mistakes(), ", "))
}

// channelsOf reads the numbers in a name, from 0. Legs and, on a three-wire
// delta, voltage inputs count to three there; CTs as far as there are channels.
func channelsOf(groups []string, name string, s *Supply) ([]int, error) {
	var all []int
	for i, g := range groups {
		n, _ := strconv.Atoi(g)
		most, what := s.Channels(), "channels"
		if s.Delta() && (strings.HasPrefix(name, "v") || i > 0 && strings.Contains(name, "-on-leg")) {
			most, what = len(s.Legs), "legs"
		}
		if n < 1 || n > most {
			return nil, fmt.Errorf("fault %q: %s has %d %s, there is no number %d", name, s.Name, most, what, n)
		}
		all = append(all, n-1)
	}
	if len(all) == 2 && all[0] == all[1] && strings.Contains(name, "crossed") {
		return nil, fmt.Errorf("fault %q names one number twice", name)
	}
	return all, nil
}
