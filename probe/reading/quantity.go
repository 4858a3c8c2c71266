package reading

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
)

// ParseQuantity reads what a person writes down from an instrument or a
// register: "208 V", "0,2V", "1.21 kV", "12 345.6 kWh". unit is the SI unit, or
// Wh and VAh, that is wanted and may be left out; the value is in it. A comma
// may stand for the decimal point, blanks and apostrophes may group digits. A
// single comma before exactly three digits could be either, and is refused:
// better to ask than to be wrong by a thousand. So are values that are no
// finite numbers. Signs are kept; whether they make sense is for the caller.
func ParseQuantity(text, unit string) (float64, error) {
	s := strings.TrimSpace(strings.ReplaceAll(text, "−", "-"))
	end := strings.LastIndexAny(s, "0123456789.,") + 1
	number, suffix := s[:end], strings.TrimSpace(s[end:])
	if number == "" {
		return 0, fmt.Errorf("%q is not a value in %s, such as 12.3 %s", text, unit, unit)
	}
	factor, ok := prefixed(suffix, unit)
	if !ok {
		return 0, fmt.Errorf("%q is in %s, where %s is wanted", text, suffix, unit)
	}
	x, err := plainNumber(number)
	if err != nil {
		return 0, fmt.Errorf("%q: %w", text, err)
	}
	return x * factor, nil
}

// prefixed gives the factor of a unit with its SI prefix.
func prefixed(suffix, unit string) (float64, bool) {
	switch suffix {
	case "", unit:
		return 1, true
	case "m" + unit:
		return 1e-3, true
	case "k" + unit:
		return 1e3, true
	case "M" + unit:
		return 1e6, true
	}
	return 0, false
}

var errAmbiguous = errors.New("the comma may group digits or be the decimal point; write it without, or with a point")

// plainNumber reads digits as people write them.
func plainNumber(s string) (float64, error) {
	for _, gap := range []string{" ", "\u00a0", "\u202f", "'", "’"} {
		s = strings.ReplaceAll(s, gap, "")
	}
	commas, points := strings.Count(s, ","), strings.Count(s, ".")
	switch {
	case commas == 1 && points == 0:
		whole, rest, _ := strings.Cut(s, ",")
		if len(rest) == 3 && strings.Trim(whole, "+-0") != "" {
			return 0, errAmbiguous
		}
		s = whole + "." + rest
	case commas > 0 && points == 1 && strings.LastIndex(s, ",") < strings.Index(s, "."):
		s = strings.ReplaceAll(s, ",", "")
	case points > 0 && commas == 1 && strings.LastIndex(s, ".") < strings.Index(s, ","):
		s = strings.ReplaceAll(strings.ReplaceAll(s, ".", ""), ",", ".")
	case commas > 1 && points == 0:
		s = strings.ReplaceAll(s, ",", "")
	}
	if strings.ContainsAny(s, "eExXpP_nNiI") {
		return 0, errors.New("this is not a number")
	}
	x, err := strconv.ParseFloat(s, 64)
	if err != nil || math.IsInf(x, 0) || math.IsNaN(x) {
		return 0, errors.New("this is not a number")
	}
	return x, nil
}
