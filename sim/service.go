package sim

import (
	"fmt"
	"strings"
)

// layout is the geometry of a service.
type layout uint8

const (
	wye       layout = iota // three legs at 120 degrees and a neutral
	twoOfWye                // two of them and the neutral
	halves                  // two legs at 180 degrees and a neutral
	twoWire                 // one leg and a neutral
	threeWire               // three legs of a delta, no neutral
	highLeg                 // a delta, the middle of one winding being the neutral
)

// Service is a kind of supply by its name. Make one with ParseService.
type Service struct {
	Name    string
	Nominal float64 // V from a leg to the neutral; V between legs on a three-wire delta
	Hz      float64
	layout  layout
}

// services are those that can be simulated. Voltages and frequencies: IEC 60038
// Table 1; the delta services: common practice in North America, no source.
var services = [...]Service{
	{"120/208Y", 120, 60, wye},
	{"277/480Y", 277, 60, wye},
	{"347/600Y", 347, 60, wye},
	{"230/400Y", 230, 50, wye},
	{"120/240", 120, 60, halves},
	{"120/208N", 120, 60, twoOfWye},
	{"120", 120, 60, twoWire},
	{"230", 230, 50, twoWire},
	{"240D", 240, 60, threeWire},
	{"480D", 480, 60, threeWire},
	{"600D", 600, 60, threeWire},
	{"120/240D", 120, 60, highLeg},
}

// Services lists the names of the services that can be simulated.
func Services() []string {
	names := make([]string, len(services))
	for i, s := range services {
		names[i] = s.Name
	}
	return names
}

// ParseService finds a service by its name. The error lists those there are.
func ParseService(name string) (Service, error) {
	for _, s := range services {
		if s.Name == name {
			return s, nil
		}
	}
	return Service{}, fmt.Errorf("%q is not a service; there are %s", name, strings.Join(Services(), ", "))
}

// Channels is how many voltage inputs and CTs a meter on the service has.
func (s Service) Channels() int {
	switch s.layout {
	case wye, highLeg:
		return 3
	case twoWire:
		return 1
	}
	return 2
}

// Legs is how many line conductors there are, A first.
func (s Service) Legs() int {
	if s.layout == threeWire {
		return 3
	}
	return s.Channels()
}

// HasNeutral reports whether the service has a neutral conductor.
func (s Service) HasNeutral() bool { return s.layout != threeWire }

// home is the conductor on which input and CT of channel k (from 0) belong.
func (s Service) home(k int) Conductor {
	if s.layout == threeWire && k == 1 {
		return LegC
	}
	return leg(k)
}

// commonHome is where the meter's neutral, or common, terminal belongs.
func (s Service) commonHome() Conductor {
	if s.HasNeutral() {
		return Neutral
	}
	return LegB
}
