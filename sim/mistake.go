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

// Sort is a sort of mistake: the name of one, and what it means.
type Sort struct{ Name, Means string }

// Sorts lists one mistake of every sort; other channels and legs have them too, as
// far as a service has the channels.
func Sorts() []Sort {
	return []Sort{
		{"ct1-reversed", "CT 1 points the wrong way, or its leads are exchanged"},
		{"cts-reversed", "every CT points the wrong way"},
		{"ct1-ct3-crossed", "CTs 1 and 3 are on each other's legs"},
		{"cts-rolled", "each CT is one leg further: 1 on leg 2, 2 on leg 3, 3 on leg 1"},
		{"cts-rolled-back", "each CT is one leg back"},
		{"ct2-on-leg1", "CT 2 is on leg 1, together with CT 1"},
		{"ct1-on-neutral", "CT 1 is on the neutral"},
		{"ct2-open", "CT 2 is open: it reads nothing"},
		{"ct2-shorted", "CT 2 is still shorted at its block"},
		{"ct2-half-ratio", "CT 2 has half the ratio that is set: it reads half"},
		{"ct2-double-ratio", "CT 2 has twice the ratio that is set: it reads twice"},
		{"v1-v2-crossed", "the leads at voltage inputs 1 and 2 are exchanged"},
		{"v2-on-leg1", "voltage input 2 is on leg 1"},
		{"v3-dead", "voltage input 3 is dead: an open fuse"},
		{"v2-loose", "voltage input 2 makes poor contact, and is dead for 3 seconds of 10"},
		{"v2-low", "voltage input 2 has an open fuse, and is fed back through a load"},
		{"vn-v1-crossed", "the neutral and voltage input 1 are exchanged"},
		{"meter-neutral-lost", "the meter's neutral lead is off"},
		{"neutral-lost", "the service's neutral is lost"},
	}
}

// Mistakes lists the names of Sorts.
func Mistakes() []string {
	var names []string
	for _, s := range Sorts() {
		names = append(names, s.Name)
	}
	return names
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
