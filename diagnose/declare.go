package diagnose

import (
	"fmt"
	"slices"
	"strings"

	"legwork/diagnose/wiring"
)

// Generation is what a person declares of solar, batteries and generators.
type Generation = wiring.Generation

// What may be declared.
const (
	GenerationUnknown  = wiring.GenerationUnknown
	GenerationNone     = wiring.GenerationNone
	GenerationPossible = wiring.GenerationPossible // power may flow back to the supply
)

// LoadSort is a sort of load that a person declares to be behind the meter.
type LoadSort string

// The sorts of load.
const (
	Motors      LoadSort = "motors"
	Heating     LoadSort = "heating"
	Lighting    LoadSort = "lighting"
	Electronics LoadSort = "electronics"
	Drives      LoadSort = "drives"
	Capacitors  LoadSort = "capacitors"
)

// LoadSorts lists them.
func LoadSorts() []LoadSort {
	return []LoadSort{Motors, Heating, Lighting, Electronics, Drives, Capacitors}
}

// ParseLoad reads a comma list of sorts; empty is any mixture.
func ParseLoad(list string) ([]LoadSort, error) {
	var all []LoadSort
	for part := range strings.FieldsFuncSeq(strings.ToLower(list), func(c rune) bool { return c == ',' || c == ';' || c == ' ' }) {
		if !slices.Contains(LoadSorts(), LoadSort(part)) {
			return nil, fmt.Errorf("%q is no sort of load; say one or several of %s, with commas", part, listOf(LoadSorts()))
		}
		all = append(all, LoadSort(part))
	}
	return all, nil
}

func listOf(all []LoadSort) string {
	names := make([]string, len(all))
	for i, s := range all {
		names[i] = string(s)
	}
	return strings.Join(names, ", ")
}
