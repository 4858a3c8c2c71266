package regmap

import (
	"math"
	"strings"

	"legwork/probe/reading"
)

// prefixes are those of the SI that a meter could use.
var prefixes = []struct {
	name   string
	factor float64
}{{"", 1}, {"u", 1e-6}, {"µ", 1e-6}, {"m", 1e-3}, {"k", 1e3}, {"M", 1e6}, {"G", 1e9}}

// unitFactor is what a unit is worth in the unit of a Reading.
func unitFactor(unit string, q reading.Quantity) (float64, bool) {
	base := q.Unit()
	switch base {
	case "":
		if unit == "%" {
			return 0.01, true
		}
		return 1, unit == "1"
	case "deg":
		if unit == "rad" {
			return 180 / math.Pi, true
		}
		return 1, unit == "deg"
	}
	for _, p := range prefixes {
		if unit == p.name+base {
			return p.factor, true
		}
	}
	return 0, false
}

// unitsOf says which units there are for a quantity.
func unitsOf(q reading.Quantity) string {
	switch base := q.Unit(); base {
	case "":
		return "none, or %"
	case "deg":
		return "deg or rad"
	default:
		return strings.Join([]string{base, "k" + base, "m" + base}, ", ") + " and so on"
	}
}
