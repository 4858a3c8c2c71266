package energy

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"

	"legwork/probe/reading"
)

// Period is a part of the registered energy at a price of its own.
type Period struct {
	Name       string
	Registered float64 // Wh
	Price      float64 // a kWh
}

// PeriodMade is what was missed in one period.
type PeriodMade struct {
	Name       string       `json:"name"`
	Registered float64      `json:"registered"` // Wh
	Missing    Registration `json:"missing"`    // Wh
	Price      float64      `json:"price"`      // a kWh
	Charge     Registration `json:"charge"`     // in the price's money
}

var periodForm = regexp.MustCompile(`^(?i)([\p{L}\p{N}_-]+) *: *(.+?) at ([0-9]+(?:[.,][0-9]+)?)$`)

// ParsePeriod reads "peak: 30000 kWh at 0.60".
func ParsePeriod(text string) (Period, error) {
	m := periodForm.FindStringSubmatch(strings.Join(strings.Fields(text), " "))
	if m == nil {
		return Period{}, fmt.Errorf("%q is not a period; say `peak: 30000 kWh at 0.60`", text)
	}
	wh, err := ParseEnergy(m[2])
	if err != nil {
		return Period{}, err
	}
	price, err := strconv.ParseFloat(strings.Replace(m[3], ",", ".", 1), 64)
	if err != nil || price > 1e6 {
		return Period{}, fmt.Errorf("%q: the price can't be read; say `peak: 30000 kWh at 0.60`", text)
	}
	return Period{m[1], wh, price}, nil
}

// mostWh is beyond what any meter registers. Our choice, no source.
const mostWh = 1e15

var errNoUnit = errors.New("say the unit, such as 10000 kWh")

// ParseEnergy reads an energy in Wh from "10000 kWh" or "1.2 MWh". A bare number
// is refused: better to ask than to be wrong by a thousand.
func ParseEnergy(text string) (float64, error) {
	if !strings.HasSuffix(strings.TrimSpace(text), "Wh") {
		return 0, fmt.Errorf("%q: %w", text, errNoUnit)
	}
	x, err := reading.ParseQuantity(text, "Wh")
	if err == nil && math.Abs(x) > mostWh {
		err = fmt.Errorf("%q is beyond any register", text)
	}
	return x, err
}

// split shares the missing energy out to the periods: the same K for each. The
// error is that they don't add up to what was registered, Wh, within a thousandth
// (our choice).
func split(periods []Period, k Registration, registered float64) ([]PeriodMade, error) {
	all := []PeriodMade{}
	var sum float64
	for _, p := range periods {
		sum += p.Registered
		missing := k.times(p.Registered).less(p.Registered)
		all = append(all, PeriodMade{p.Name, p.Registered, missing, p.Price, missing.times(p.Price / 1000)})
	}
	if len(all) > 0 && math.Abs(sum-registered) > 0.001*math.Abs(registered) {
		return nil, fmt.Errorf("the periods add up to %.6g kWh, and %.6g kWh were registered; give every period",
			sum/1000, registered/1000)
	}
	return all, nil
}
