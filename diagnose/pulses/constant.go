package pulses

import (
	"fmt"
	"math"
	"regexp"
	"strings"

	"legwork/probe/reading"
)

// Constant is what one pulse stands for, in Wh.
type Constant float64

var (
	perEnergy = regexp.MustCompile(`(?i)^(.+?) ?(?:imp|imps|impulses?|pulses?)? ?/ ?(Wh|kWh|MWh)$`)
	perPulse  = regexp.MustCompile(`(?i)^(.+?) ?(Wh|kWh|MWh) ?/ ?(?:imp|impulse|pulse)$`)
)

// ParseConstant reads what stands on a meter: "1000 imp/kWh", "0.5 Wh/imp",
// "3200 pulses/kWh". The error is one line that says what would be right.
func ParseConstant(text string) (Constant, error) {
	plain := strings.Join(strings.Fields(text), " ")
	if m := perPulse.FindStringSubmatch(plain); m != nil {
		return constantOf(text, m[1], func(x float64) float64 { return x * unitOf(m[2]) })
	}
	if m := perEnergy.FindStringSubmatch(plain); m != nil {
		return constantOf(text, m[1], func(x float64) float64 { return unitOf(m[2]) / x })
	}
	return 0, fmt.Errorf("%q is not a pulse constant; say `1000 imp/kWh` or `0.5 Wh/imp`, as it stands on the meter", text)
}

// unitOf is the size of a unit of energy in Wh.
func unitOf(name string) float64 {
	return map[string]float64{"wh": 1, "kwh": 1e3, "mwh": 1e6}[strings.ToLower(name)]
}

// Bounds of a pulse in Wh. Our choice, no source.
const (
	leastWh = 1e-6
	mostWh  = 1e7
)

func constantOf(text, number string, wh func(float64) float64) (Constant, error) {
	x, err := reading.ParseQuantity(number, "")
	if err != nil {
		return 0, fmt.Errorf("%q is not a pulse constant: the number in it can't be read; say `1000 imp/kWh` or `0.5 Wh/imp`",
			text)
	}
	c := wh(x)
	if !(x > 0) || math.IsInf(c, 0) || c < leastWh || c > mostWh {
		return 0, fmt.Errorf("%q: a pulse of %.3g Wh is not possible; say `1000 imp/kWh` or `0.5 Wh/imp`, as it stands on "+
			"the meter", text, c)
	}
	return Constant(c), nil
}
