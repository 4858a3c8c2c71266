package sim

import (
	"fmt"
	"math"
	"math/cmplx"
	"strings"
)

// Conductor is a conductor of the service, or nothing.
type Conductor uint8

// The conductors. Nothing is an open input, or a CT round no conductor.
const (
	Nothing Conductor = iota
	Neutral
	LegA
	LegB
	LegC
	conductors
)

// String is "leg A", "neutral" or "nothing".
func (c Conductor) String() string {
	return [...]string{"nothing", "neutral", "leg A", "leg B", "leg C"}[c]
}

// Supply is the service at a panel.
type Supply struct {
	Name       string
	Legs       []Conductor
	HasNeutral bool
	Hertz      float64
	HighLeg    Conductor // four-wire delta: the leg at 208 V, else Nothing

	volts [conductors]complex128 // to the neutral, or to the star point
}

// services lists what can be supplied: each leg's volts and degrees at
// sequence ABC. Voltages: IEC 60038 Table 1; delta services: common practice
// in North America, no source.
var services = []struct {
	name    string
	neutral bool
	hertz   float64
	legs    [][2]float64
}{
	{"120/208Y", true, 60, [][2]float64{{120, 0}, {120, -120}, {120, 120}}},
	{"277/480Y", true, 60, [][2]float64{{277, 0}, {277, -120}, {277, 120}}},
	{"347/600Y", true, 60, [][2]float64{{347, 0}, {347, -120}, {347, 120}}},
	{"230/400Y", true, 50, [][2]float64{{230, 0}, {230, -120}, {230, 120}}},
	{"120/240", true, 60, [][2]float64{{120, 0}, {120, 180}}},
	{"120/208N", true, 60, [][2]float64{{120, 0}, {120, -120}}},
	{"120", true, 60, [][2]float64{{120, 0}}},
	{"230", true, 50, [][2]float64{{230, 0}}},
	{"240D", false, 60, star(240)},
	{"480D", false, 60, star(480)},
	{"600D", false, 60, star(600)},
	{"120/240D", true, 60, [][2]float64{{120, 0}, {120 * math.Sqrt(3), -90}, {120, 180}}},
}

// star is a delta's corners as seen from its middle.
func star(line float64) [][2]float64 {
	v := line / math.Sqrt(3)
	return [][2]float64{{v, -30}, {v, -150}, {v, 90}}
}

// NewSupply makes a service by name; backward gives sequence ACB.
func NewSupply(name string, backward bool) (*Supply, error) {
	var names []string
	for _, s := range services {
		names = append(names, s.name)
		if s.name != name {
			continue
		}
		supply := &Supply{Name: name, HasNeutral: s.neutral, Hertz: s.hertz}
		for i, leg := range s.legs {
			c := LegA + Conductor(i)
			supply.Legs = append(supply.Legs, c)
			degrees := leg[1]
			if backward {
				degrees = -degrees
			}
			supply.volts[c] = phasor(leg[0], degrees)
		}
		if name == "120/240D" {
			supply.HighLeg = LegB
		}
		return supply, nil
	}
	return nil, fmt.Errorf("%q is not a service that can be simulated; there are %s", name, strings.Join(names, ", "))
}

// Volts is the voltage of a conductor to the neutral.
func (s *Supply) Volts(c Conductor) complex128 { return s.volts[c] }

// SetVolts replaces the voltage of a conductor, for unbalance or measured phasors.
func (s *Supply) SetVolts(c Conductor, v complex128) { s.volts[c] = v }

// Delta reports a service without neutral, metered with two elements.
func (s *Supply) Delta() bool { return !s.HasNeutral }

// Channels is how many channels a meter of this service has.
func (s *Supply) Channels() int {
	if s.Delta() {
		return 2
	}
	return len(s.Legs)
}

// RaiseHighLeg moves, on a four-wire delta, the high leg to another conductor;
// conventions differ by country.
func (s *Supply) RaiseHighLeg(to Conductor) {
	if s.HighLeg == Nothing || to == s.HighLeg {
		return
	}
	s.volts[to], s.volts[s.HighLeg] = s.volts[s.HighLeg], s.volts[to]
	if s.HighLeg == LegB { // keep the sequence: two exchanged legs turn it round
		for _, c := range s.Legs {
			s.volts[c] = cmplx.Conj(s.volts[c])
		}
	}
	s.HighLeg = to
}

func phasor(size, degrees float64) complex128 { return cmplx.Rect(size, degrees*math.Pi/180) }

func degreesOf(z complex128) float64 { return cmplx.Phase(z) * 180 / math.Pi }
