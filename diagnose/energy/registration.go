package energy

import (
	"errors"
	"fmt"
	"math"
)

// Registration is registered over true power, with the bounds that hold it 95
// times in 100.
type Registration struct {
	Best float64 `json:"best"`
	Low  float64 `json:"low"`
	High float64 `json:"high"`
}

// Exactly is a registration without doubt.
func Exactly(x float64) Registration { return Registration{x, x, x} }

// Bounds of a registration. Our choice, no source.
const mostRegistration = 1000

// Check refuses what is no registration.
func (g Registration) Check() error {
	for _, x := range []float64{g.Best, g.Low, g.High} {
		if math.IsNaN(x) || math.Abs(x) > mostRegistration {
			return fmt.Errorf("a registration of %g; it is registered over true energy, such as 0.33", x)
		}
	}
	if g.Low > g.Best || g.Best > g.High {
		return errors.New("the registration must lie between its bounds: low, then registration, then high")
	}
	return nil
}

// leastRegistration is how near to nothing the registration may come: the
// errors of CTs and meter are then as large as what is registered. About what
// class 1 allows for angle at half power factor (IEC 61869-2, Table 201: 60
// minutes, 1.7 % of reactive power); our choice.
const leastRegistration = 0.02

// nearNothing reports that it says nothing of the true energy.
func (g Registration) nearNothing() bool {
	return g.Low < leastRegistration && g.High > -leastRegistration
}

// inverse gives K = 1/R, true over registered, from its low to its high end: the true
// energy is K times what was registered.
func (g Registration) inverse() Registration {
	a, b := 1/g.Low, 1/g.High // of one sign, or whyNot says that there is no estimate
	return Registration{Best: 1 / g.Best, Low: math.Min(a, b), High: math.Max(a, b)}
}

// times scales by what was registered; a negative one turns the ends round.
func (g Registration) times(x float64) Registration {
	a, b := g.Low*x, g.High*x
	return Registration{Best: g.Best * x, Low: math.Min(a, b), High: math.Max(a, b)}
}

// less takes what was registered off: missing = true - registered, Wh.
func (g Registration) less(x float64) Registration {
	return Registration{g.Best - x, g.Low - x, g.High - x}
}

// widened allows for a further, independent doubt that is a share of the value:
// half-widths add up as the root of the sum of squares (JCGM 100:2008, 5.1.2).
func (g Registration) widened(share float64) Registration {
	more := share * math.Abs(g.Best)
	return Registration{g.Best, g.Best - math.Hypot(g.Best-g.Low, more), g.Best + math.Hypot(g.High-g.Best, more)}
}
