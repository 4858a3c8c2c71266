package sim

import (
	"fmt"
	"math"
	"strings"
)

// classLimits is one row of IEC 61869-2, Tables 201 and 202: what a CT of a
// class may be off at shares of its rated current.
type classLimits struct {
	class   string
	share   []float64 // of the rated primary current
	ratio   []float64 // percent
	minutes []float64 // of phase displacement
}

// ctClasses: values as two independent trade tables give them for the
// standard's Tables 201 and 202.
var ctClasses = [...]classLimits{
	{"0.1", []float64{.05, .2, 1, 1.2}, []float64{.4, .2, .1, .1}, []float64{15, 8, 5, 5}},
	{"0.2", []float64{.05, .2, 1, 1.2}, []float64{.75, .35, .2, .2}, []float64{30, 15, 10, 10}},
	{"0.2S", []float64{.01, .05, .2, 1, 1.2}, []float64{.75, .35, .2, .2, .2}, []float64{30, 15, 10, 10, 10}},
	{"0.5", []float64{.05, .2, 1, 1.2}, []float64{1.5, .75, .5, .5}, []float64{90, 45, 30, 30}},
	{"0.5S", []float64{.01, .05, .2, 1, 1.2}, []float64{1.5, .75, .5, .5, .5}, []float64{90, 45, 30, 30, 30}},
	{"1", []float64{.05, .2, 1, 1.2}, []float64{3, 1.5, 1, 1}, []float64{180, 90, 60, 60}},
}

// limitsOf finds a class by its name; the empty name is a CT without error.
func limitsOf(class string) (classLimits, error) {
	if class == "" {
		return classLimits{}, nil
	}
	names := make([]string, len(ctClasses))
	for i, c := range ctClasses {
		if c.class == class {
			return c, nil
		}
		names[i] = c.class
	}
	return classLimits{}, fmt.Errorf("%q is no class of CTs; there are %s", class, strings.Join(names, ", "))
}

// at gives the limits at a share of rated current: ratio error as a ratio, and
// phase displacement in degrees. Between the table's columns it goes with the
// logarithm of the current; beyond them the nearest holds (the standard sets
// no limit below the first).
func (c *classLimits) at(share float64) (ratio, lead float64) {
	n := len(c.share)
	if n == 0 {
		return 0, 0
	}
	i := 1
	for i < n-1 && share > c.share[i] {
		i++
	}
	along := math.Log(share/c.share[i-1]) / math.Log(c.share[i]/c.share[i-1])
	along = min(max(along, 0), 1)
	between := func(x []float64) float64 { return x[i-1] + along*(x[i]-x[i-1]) }
	return between(c.ratio) / 100, between(c.minutes) / 60
}

// ctError is how far one CT is off, as shares of its class's limits, -1 to 1.
type ctError struct{ ratio, lead float64 }

// distorts gives what the CT makes of a current.
func (e ctError) distorts(j Current, c *classLimits, primary float64) Current {
	rms := j.RMS()
	if len(c.share) == 0 || rms == 0 || primary <= 0 {
		return j
	}
	ratio, lead := c.at(rms / primary)
	return j.times(1 + e.ratio*ratio).led(e.lead * lead)
}
