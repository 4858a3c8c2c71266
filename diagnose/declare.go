package diagnose

import (
	"fmt"
	"strings"
)

// Generation is what a person declares of solar, batteries and generators. The zero
// value is unknown.
type Generation string

// What may be declared.
const (
	GenerationUnknown  Generation = "unknown"
	GenerationNone     Generation = "none"
	GenerationPossible Generation = "possible" // power may flow back to the supply
)

// ParseGeneration reads unknown, none or possible; empty is unknown.
func ParseGeneration(text string) (Generation, error) {
	switch g := Generation(text); g {
	case "":
		return GenerationUnknown, nil
	case GenerationUnknown, GenerationNone, GenerationPossible:
		return g, nil
	}
	return "", fmt.Errorf("%q is not unknown, none or possible", text)
}

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
		known := false
		for _, s := range LoadSorts() {
			known = known || string(s) == part
		}
		if !known {
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
