package job

import (
	"fmt"
	"slices"
	"strings"

	"legwork/diagnose/wiring"
	"legwork/probe/sheet"
)

// Regions lists the regions whose colours are known by name.
func Regions() []string { return []string{"canada", "iec", "us", "none"} }

// codeOf picks a colour code. Without a region only services that tell theirs
// have one: 347/600 is Canada's, 230/400 is of IEC's countries (IEC 60038 and
// common practice); 120/208 is black-red or red-black by country, and left blank.
func codeOf(region string, s wiring.Service) (wiring.ColourCode, error) {
	if region != "" && !slices.Contains(Regions(), region) {
		err := fmt.Errorf("%q is not a region; there are %s", region, strings.Join(Regions(), ", "))
		if near := sheet.Near(region, Regions()); near != "" {
			err = fmt.Errorf("%w; did you mean %s?", err, near)
		}
		return "", err
	}
	if region == "" {
		region = map[string]string{"347/600Y": "canada", "600D": "canada", "230/400Y": "iec", "230": "iec"}[s.Name]
	}
	switch {
	case region == "us" && s.Nominal > 250: // 277/480 and up
		return wiring.ColoursUSHigh, nil
	case region == "us":
		return wiring.ColoursUSLow, nil
	case region == "none":
		return "", nil
	}
	return wiring.ColourCode(region), nil
}

// table names the colours of a number of legs, the neutral and the earth.
func table(colours [5]string, legs int) []Conductor {
	var all []Conductor
	for i, name := range []string{"1", "2", "3", "neutral", "earth"} {
		if i < legs || i > 2 {
			all = append(all, Conductor{name, colours[i]})
		}
	}
	return all
}
