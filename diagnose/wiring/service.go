package wiring

import (
	"fmt"
	"math"
	"math/cmplx"
	"strings"
)

// Kind is the geometry of a service.
type Kind uint8

// The kinds of service.
const (
	Wye          Kind = iota + 1 // three legs at 120 degrees, with neutral
	SplitPhase                   // two legs at 180 degrees, with neutral
	WyeLegs                      // two legs of a wye, with neutral
	TwoWire                      // one leg and neutral
	Delta                        // three legs without neutral, two elements: AB with A, CB with C
	HighLegDelta                 // delta with one winding's middle as neutral
)

// Sequence is the order in which the legs, by number, reach their peaks.
type Sequence int8

// The sequences. A service of one leg, or of two at 180 degrees, has Forward.
const (
	Forward  Sequence = +1 // ABC: leg 2 lags leg 1
	Backward Sequence = -1 // ACB
)

// String is ABC or ACB.
func (s Sequence) String() string {
	if s == Backward {
		return "ACB"
	}
	return "ABC"
}

// Service is a kind of supply at a nominal voltage.
type Service struct {
	Name    string
	Kind    Kind
	Nominal float64 // V leg to neutral; V line to line on a three-wire delta
	HighLeg Leg     // HighLegDelta only: the leg at 208 V; NoLeg while unknown
}

// Services lists the services that are known by name. Voltages: IEC 60038
// Table 1; the delta services are common practice in North America, no source.
func Services() []Service {
	return []Service{
		{Name: "120/208Y", Kind: Wye, Nominal: 120},
		{Name: "277/480Y", Kind: Wye, Nominal: 277},
		{Name: "347/600Y", Kind: Wye, Nominal: 347},
		{Name: "230/400Y", Kind: Wye, Nominal: 230},
		{Name: "120/240", Kind: SplitPhase, Nominal: 120},
		{Name: "120/208N", Kind: WyeLegs, Nominal: 120},
		{Name: "120", Kind: TwoWire, Nominal: 120},
		{Name: "230", Kind: TwoWire, Nominal: 230},
		{Name: "240D", Kind: Delta, Nominal: 240},
		{Name: "480D", Kind: Delta, Nominal: 480},
		{Name: "600D", Kind: Delta, Nominal: 600},
		{Name: "120/240D", Kind: HighLegDelta, Nominal: 120},
	}
}

// ParseService finds a service by its name. The error lists those there are.
func ParseService(name string) (Service, error) {
	for _, s := range Services() {
		if s.Name == name {
			return s, nil
		}
	}
	return Service{}, fmt.Errorf("%q is not a service; there are %s", name, strings.Join(ServiceNames(), ", "))
}

// ServiceNames lists the names of the services.
func ServiceNames() []string {
	var names []string
	for _, s := range Services() {
		names = append(names, s.Name)
	}
	return names
}

// Channels is how many voltage and current inputs the service needs.
func (s Service) Channels() int {
	switch s.Kind {
	case Wye, HighLegDelta:
		return 3
	case TwoWire:
		return 1
	}
	return 2
}

// Legs is how many line conductors a CT could sit on.
func (s Service) Legs() int {
	if s.Kind == Delta {
		return 3
	}
	return s.Channels()
}

// Sequences lists the orders that the service's legs can have.
func (s Service) Sequences() []Sequence {
	if s.Kind == SplitPhase || s.Kind == TwoWire {
		return []Sequence{Forward}
	}
	return []Sequence{Forward, Backward}
}

// LegPhasors gives the voltage of each leg to neutral (to the star point on a
// three-wire delta), per unit of Nominal, leg 1 first; a leg that the service
// lacks is 0. Leg 1 lies at 0 degrees, save on a three-wire delta, where the
// voltage of channel 1 (AB) does.
func (s Service) LegPhasors(q Sequence) [3]complex128 {
	var e [3]complex128
	switch s.Kind {
	case Wye, WyeLegs:
		e = [3]complex128{1, polar(-120), polar(120)}
		if s.Kind == WyeLegs {
			e[2] = 0
		}
	case SplitPhase:
		e = [3]complex128{1, -1}
	case TwoWire:
		e[0] = 1
	case Delta:
		star := complex(1/math.Sqrt(3), 0)
		e = [3]complex128{star * polar(-30), star * polar(-150), star * polar(90)}
	case HighLegDelta:
		e = s.highLegPhasors()
	}
	if q == Backward {
		for m := range e {
			e[m] = cmplx.Conj(e[m])
		}
	}
	return e
}

// highLegPhasors places the corners of the delta's triangle, clockwise by leg
// number, as seen from the middle of the side opposite to the high leg.
func (s Service) highLegPhasors() [3]complex128 {
	high := int(s.highLeg()) - 1
	before, after := (high+2)%3, (high+1)%3
	var e [3]complex128
	e[before], e[high], e[after] = 1, polar(-90)*complex(math.Sqrt(3), 0), -1
	turn := cmplx.Conj(e[0]) / complex(cmplx.Abs(e[0]), 0)
	for m := range e {
		e[m] *= turn
	}
	return e
}

func (s Service) highLeg() Leg {
	if s.HighLeg == NoLeg {
		return 2 // leg B, the usual place in North America; common practice, no source
	}
	return s.HighLeg
}

// InputPhasors gives what each channel's voltage input reads when it is wired
// right, per unit of Nominal.
func (s Service) InputPhasors(q Sequence) [3]complex128 {
	e := s.LegPhasors(q)
	if s.Kind == Delta {
		return [3]complex128{e[0] - e[1], e[2] - e[1]}
	}
	return e
}

// HomeLeg is the leg on which the CT of a channel belongs.
func (s Service) HomeLeg(k Channel) Leg {
	if s.Kind == Delta && k == 2 {
		return 3
	}
	return Leg(k)
}

// Right is the arrangement in which every CT sits where it belongs.
func (s Service) Right() Arrangement {
	var a Arrangement
	for k := 1; k <= s.Channels(); k++ {
		a[k-1].Leg = s.HomeLeg(Channel(k))
	}
	return a
}

// Canonical orders the legs so that every sequence looks like Forward (and, on
// a four-wire delta, the high leg stands second). Panels are alike under it.
func (s Service) Canonical(q Sequence) [3]Leg {
	order := [3]Leg{1, 2, 3}
	if s.Kind == HighLegDelta {
		h := int(s.highLeg()) - 1
		order = [3]Leg{Leg((h+2)%3 + 1), Leg(h + 1), Leg((h+1)%3 + 1)}
		if q == Backward {
			order[0], order[2] = order[2], order[0]
		}
		return order
	}
	if q == Backward {
		switch s.Kind {
		case Wye, Delta:
			order = [3]Leg{1, 3, 2}
		case WyeLegs:
			order = [3]Leg{2, 1, 3}
		}
	}
	return order
}

func polar(degrees float64) complex128 { return cmplx.Rect(1, degrees*math.Pi/180) }
