package regmap

import (
	"fmt"
	"strings"

	"legwork/probe/reading"
)

// Map is a register map that was found in order.
type Map struct {
	Meter string // what the file calls the meter
	Unit  int    // unit identifier; 0 where the file gives none

	points []Point
}

// Point is where and how one quantity stands in the registers.
type Point struct {
	reading.Point

	Table      Table
	Address    int // as on the wire, from 0
	Count      int // registers
	Type       Type
	Order      Order
	Scale      float64 // value = raw x Scale x 10^exponent + Offset, then Factor
	Offset     float64
	Factor     float64 // of the unit, to SI
	Unit       string  // as the file writes it; empty for the SI unit itself
	ExponentAt int     // register of the exponent; -1 for none
	Absent     []Raw
	Negated    bool // the file's sign is the opposite of ours

	PowerFactorSign reading.PowerFactorSign
	line, column    int
}

// Points lists the map's points, in the order of the file.
func (m *Map) Points() []Point { return append([]Point(nil), m.points...) }

// Channels is the highest channel that a point of the map speaks of.
func (m *Map) Channels() int {
	most := 0
	for _, p := range m.points {
		most = max(most, p.Channel())
	}
	return most
}

// Position is where the point stands in the file, from 1; 0 where there is none.
func (p *Point) Position() (line, column int) { return p.line, p.column }

// unsigned reports a point whose value can't be below zero.
func (p *Point) unsigned() bool {
	return p.Type.unsigned() && p.Scale >= 0 && p.Offset >= 0
}

// Type is how a value stands in its registers.
type Type string

// The types.
const (
	U16  Type = "u16"
	S16  Type = "s16"
	U32  Type = "u32"
	S32  Type = "s32"
	U64  Type = "u64"
	S64  Type = "s64"
	F32  Type = "f32"
	F64  Type = "f64"
	Text Type = "text"
)

// registers is how many the type takes; 0 for a text, whose length is given.
func (t Type) registers() int {
	switch t {
	case U16, S16:
		return 1
	case U32, S32, F32:
		return 2
	case U64, S64, F64:
		return 4
	}
	return 0
}

func (t Type) unsigned() bool { return strings.HasPrefix(string(t), "u") }
func (t Type) float() bool    { return t == F32 || t == F64 }
func (t Type) bits() int      { return 16 * t.registers() }

// Order is the order of the bytes of a value over 16 bits; A is the highest byte.
type Order string

// The orders, as written for four bytes; for eight they go on in the same way.
const (
	ABCD Order = "ABCD"
	CDAB Order = "CDAB" // words exchanged
	BADC Order = "BADC" // bytes within each word exchanged
	DCBA Order = "DCBA" // both
)

// Line is one point as `map check` shows it.
type Line struct {
	Point     string // "power.1"
	Registers string // "holding 12-13"
	Reads     string // "s32 ABCD x 0.001 kW"
	Means     string // "W, positive: import"
	Raw       string // "0000 05AA", empty without an answer
	Value     string // "1450 W", "unknown"
}

// Explain says of every point how it will be read, and with an answer also
// what stands there.
func (m *Map) Explain(blocks []Block) []Line {
	var r reading.Reading
	r.Channels = make([]reading.Channel, m.Channels())
	m.Decode(blocks, &r)
	lines := make([]Line, len(m.points))
	for i := range m.points {
		p := &m.points[i]
		registers := p.Table.String() + " " + registerRange(p.Address, p.Count)
		lines[i] = Line{Point: p.String(), Registers: registers, Reads: p.reads(), Means: p.means()}
		if words := p.words(blocks); words != nil {
			lines[i].Raw, lines[i].Value = hexWords(words), p.show(&r)
		}
	}
	return lines
}

func (p *Point) reads() string {
	s := string(p.Type)
	if p.Count > 1 && p.Type != Text {
		s += " " + string(p.Order)
	}
	if p.Scale != 1 {
		s += fmt.Sprintf(" x %g", p.Scale)
	}
	if p.ExponentAt >= 0 {
		s += fmt.Sprintf(" x 10^[%d]", p.ExponentAt)
	}
	if p.Offset != 0 {
		s += fmt.Sprintf(" %+g", p.Offset)
	}
	if p.Unit != "" {
		s += " " + p.Unit
	}
	return s
}

// means says what the number stands for once it is read.
func (p *Point) means() string {
	unit := p.Quantity.Unit()
	switch p.Quantity {
	case reading.Power, reading.TotalPower:
		return unit + ", " + either(p.Negated, "the file's export is turned to", "positive is") + " import"
	case reading.Reactive, reading.TotalReactive, reading.AngleOf:
		return unit + ", " + either(p.Negated, "the file's lead is turned to", "positive is") + " lag"
	case reading.VoltageAngle, reading.CurrentAngle:
		return unit + either(p.Negated, ", turned to anticlockwise", ", anticlockwise") + " from the voltage of channel 1"
	case reading.PowerFactor:
		return [...]string{"its sign says nothing", "its sign is that of the power", "positive is lag"}[p.PowerFactorSign]
	}
	return unit
}

func either(cond bool, yes, no string) string {
	if cond {
		return yes
	}
	return no
}

func (p *Point) show(r *reading.Reading) string {
	if p.Quantity.IsText() {
		return fmt.Sprintf("%q", r.Text(p.Point))
	}
	x, ok := r.Number(p.Point).Get()
	if !ok {
		return "unknown"
	}
	return strings.TrimSpace(fmt.Sprintf("%.6g %s", x, p.Quantity.Unit()))
}

func hexWords(words []uint16) string {
	parts := make([]string, len(words))
	for i, w := range words {
		parts[i] = fmt.Sprintf("%04X", w)
	}
	return strings.Join(parts, " ")
}
