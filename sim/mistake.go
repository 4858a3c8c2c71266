package sim

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"legwork/probe/sheet"
)

// Mistake is one thing done wrong to a wiring. ParseMistakes makes them.
type Mistake struct {
	Name string
	do   func(*Wiring)
}

// Apply makes the mistake. CTs and inputs count by channel, so the order of
// mistakes matters only where two move the same conductor.
func (m Mistake) Apply(w *Wiring) { m.do(w) }

// ParseMistakes reads a comma list of names, such as "ct1-reversed,v3-dead",
// for a service; an empty list has none. The error says which name isn't known
// and what may have been meant, or why the service can't have it.
func ParseMistakes(service, list string) ([]Mistake, error) {
	s, err := ParseService(service)
	if err != nil {
		return nil, err
	}
	var found []Mistake
	all := mistakesOn(s)
	for name := range strings.SplitSeq(list, ",") {
		if name = strings.TrimSpace(name); name == "" {
			continue
		}
		i := slices.IndexFunc(all, func(m Mistake) bool { return m.Name == name })
		if i < 0 {
			return nil, refuse(s, name, all)
		}
		found = append(found, all[i])
	}
	return found, nil
}

// MistakeNames lists every mistake that a service can have.
func MistakeNames(service string) ([]string, error) {
	s, err := ParseService(service)
	if err != nil {
		return nil, err
	}
	return namesOf(mistakesOn(s)), nil
}

func namesOf(all []Mistake) []string {
	names := make([]string, len(all))
	for i, m := range all {
		names[i] = m.Name
	}
	return names
}

// Mistakes lists one mistake of every sort; other channels and legs have them
// too, as far as a service has the channels.
func Mistakes() []string {
	return []string{"ct1-reversed", "cts-reversed", "ct1-ct3-crossed", "cts-rolled", "cts-rolled-back", "ct2-on-leg1", "ct1-on-neutral",
		"ct2-open", "ct2-shorted", "ct2-half-ratio", "ct2-double-ratio", "v1-v2-crossed", "v2-on-leg1", "v3-dead", "v2-low",
		"vn-v1-crossed", "meter-neutral-lost", "neutral-lost"}
}

// refuse says why a name isn't among a service's mistakes.
func refuse(s Service, name string, here []Mistake) error {
	anywhere := slices.Concat(namesOf(mistakesOn(services[0])), namesOf(mistakesOn(services[8])))
	switch {
	case strings.HasPrefix(name, "cts-rolled") && slices.Contains(anywhere, name):
		return fmt.Errorf("fault %q: a roll needs three CTs, and %s has %s", name, s.Name, channelWords(s))
	case strings.Contains(name, "neutral") && slices.Contains(anywhere, name):
		return fmt.Errorf("fault %q: %s has no neutral", name, s.Name)
	case belongs(s, name):
		return fmt.Errorf("fault %q: that is where it belongs", name)
	case slices.Contains(anywhere, name):
		return fmt.Errorf("fault %q: %s has %s on %s", name, s.Name, channelWords(s), legWords(s))
	}
	hint := cmp.Or(sheet.DidYouMean(name, namesOf(here)),
		"there are "+strings.Join(Mistakes(), ", ")+", and their like on other channels")
	return fmt.Errorf("%q is no fault that can be simulated; %s", name, hint)
}

// belongs reports a lead or CT named on the leg that is its own.
func belongs(s Service, name string) bool {
	for k := range s.Channels() {
		on := fmt.Sprintf("%d-on-leg%d", k+1, s.home(k).index()+1)
		if name == "ct"+on || name == "v"+on {
			return true
		}
	}
	return false
}

func channelWords(s Service) string {
	return [...]string{"channel 1 alone", "channels 1 and 2", "channels 1, 2 and 3"}[s.Channels()-1]
}

func legWords(s Service) string {
	return [...]string{"leg 1 alone", "legs 1 and 2", "legs 1, 2 and 3"}[s.Legs()-1]
}
