package reading

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
)

// Quantity is what a point measures.
type Quantity uint8

// The quantities, in the order in which tables show them.
const (
	Voltage Quantity = iota + 1
	Current
	Power
	Reactive
	Apparent
	PowerFactor
	AngleOf      // of the current behind the voltage
	VoltageAngle // from the voltage of channel 1
	CurrentAngle // from the voltage of channel 1
	EnergyImport
	EnergyExport
	LineVoltage
	Frequency
	TotalPower
	TotalReactive
	TotalEnergyImport
	TotalEnergyExport
	TotalApparentEnergy
	CTPrimary
	NeutralCurrent
	Serial
	Model
	quantities // how many there are, plus one
)

// Scope says how often a quantity stands in a reading.
type Scope uint8

// The scopes.
const (
	OncePerChannel Scope = iota + 1 // index 1, 2, 3
	OncePerPair                     // index 12, 23, 31
	Once                            // no index
)

type quantityFacts struct {
	name, unit string
	scope      Scope
	text       bool
}

var facts = [quantities]quantityFacts{
	Voltage:             {"voltage", "V", OncePerChannel, false},
	Current:             {"current", "A", OncePerChannel, false},
	Power:               {"power", "W", OncePerChannel, false},
	Reactive:            {"reactive", "var", OncePerChannel, false},
	Apparent:            {"apparent", "VA", OncePerChannel, false},
	PowerFactor:         {"pf", "", OncePerChannel, false},
	AngleOf:             {"angle", "deg", OncePerChannel, false},
	VoltageAngle:        {"voltage_angle", "deg", OncePerChannel, false},
	CurrentAngle:        {"current_angle", "deg", OncePerChannel, false},
	EnergyImport:        {"energy_import", "Wh", OncePerChannel, false},
	EnergyExport:        {"energy_export", "Wh", OncePerChannel, false},
	LineVoltage:         {"line_voltage", "V", OncePerPair, false},
	Frequency:           {"frequency", "Hz", Once, false},
	TotalPower:          {"total_power", "W", Once, false},
	TotalReactive:       {"total_reactive", "var", Once, false},
	TotalEnergyImport:   {"total_energy_import", "Wh", Once, false},
	TotalEnergyExport:   {"total_energy_export", "Wh", Once, false},
	TotalApparentEnergy: {"total_apparent_energy", "VAh", Once, false},
	CTPrimary:           {"ct_primary", "A", Once, false},
	NeutralCurrent:      {"neutral_current", "A", Once, false},
	Serial:              {"serial", "", Once, true},
	Model:               {"model", "", Once, true},
}

// String is the name by which maps and captures call the quantity.
func (q Quantity) String() string {
	if q == 0 || q >= quantities {
		return fmt.Sprintf("quantity %d", uint8(q))
	}
	return facts[q].name
}

// Unit is the unit in which a Reading holds the quantity; empty for a ratio or a text.
func (q Quantity) Unit() string { return facts[q].unit }

// Scope says how often the quantity stands in a reading.
func (q Quantity) Scope() Scope { return facts[q].scope }

// IsText reports whether the quantity is a text and not a number.
func (q Quantity) IsText() bool { return facts[q].text }

// Point is one quantity of one channel, one pair of channels or the whole meter.
type Point struct {
	Quantity Quantity
	Index    int // 1 to 3 per channel; 12, 23 or 31 per pair; else 0
}

// String is the name by which maps and captures call the point: "power.2".
func (p Point) String() string {
	if p.Index == 0 {
		return p.Quantity.String()
	}
	return p.Quantity.String() + "." + strconv.Itoa(p.Index)
}

// Channel is the channel that the point belongs to, or 0.
func (p Point) Channel() int {
	if p.Quantity.Scope() == OncePerChannel {
		return p.Index
	}
	return 0
}

// Points lists every point there is, in the order of the quantities.
func Points() []Point {
	var all []Point
	for q := Voltage; q < quantities; q++ {
		for _, i := range indexes[q.Scope()] {
			all = append(all, Point{q, i})
		}
	}
	return all
}

var indexes = map[Scope][]int{
	OncePerChannel: {1, 2, 3},
	OncePerPair:    {12, 23, 31},
	Once:           {0},
}

// ErrNoPoint is within the error for a name that is of no quantity.
var ErrNoPoint = errors.New("is not a point")

// ParsePoint reads the name of a point, such as "voltage.1" or "frequency". The
// error says what would be right, or wraps ErrNoPoint.
func ParsePoint(name string) (Point, error) {
	base, index, dotted := strings.Cut(name, ".")
	for q := Voltage; q < quantities; q++ {
		if facts[q].name != base {
			continue
		}
		for _, i := range indexes[q.Scope()] {
			if p := (Point{q, i}); p.String() == name {
				return p, nil
			}
		}
		return Point{}, fmt.Errorf("%q: %s", name, indexHint(q, index, dotted))
	}
	return Point{}, fmt.Errorf("%q %w", name, ErrNoPoint)
}

func indexHint(q Quantity, index string, dotted bool) string {
	switch q.Scope() {
	case OncePerPair:
		return fmt.Sprintf("%s goes with .12, .23 or .31", q)
	case Once:
		return fmt.Sprintf("%s stands once, without .%s", q, index)
	}
	if !dotted {
		return fmt.Sprintf("say which channel: %s.1, %s.2 or %s.3", q, q, q)
	}
	return fmt.Sprintf("channels are 1, 2 and 3, not %q", index)
}
