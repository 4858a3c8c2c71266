package regmap

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"legwork/probe/reading"
)

// Changed is a copy of the map with every point as change leaves it.
func (m *Map) Changed(change func(p *Point)) *Map {
	n := &Map{Meter: m.Meter, Unit: m.Unit, points: slices.Clone(m.points)}
	for i := range n.points {
		change(&n.points[i])
	}
	return n
}

// YAML writes the map as a file that Parse reads back as the same map.
// Comments of the file it came from are lost; heading goes before the rest as
// a comment, unless it is empty.
func (m *Map) YAML(heading string) []byte {
	var b strings.Builder
	for line := range strings.Lines(heading) {
		fmt.Fprintf(&b, "# %s\n", strings.TrimRight(line, "\n"))
	}
	fmt.Fprintf(&b, "legwork-map: %d\n", Version)
	if m.Meter != "" {
		fmt.Fprintf(&b, "meter: %s\n", strconv.Quote(m.Meter))
	}
	if m.Unit != 0 {
		fmt.Fprintf(&b, "unit: %d\n", m.Unit)
	}
	b.WriteString("points:\n")
	for i := range m.points {
		p := &m.points[i]
		fmt.Fprintf(&b, "  %s: {%s}\n", p, strings.Join(p.fields(), ", "))
	}
	return []byte(b.String())
}

// fields are what the file must say of the point.
func (p *Point) fields() []string {
	f := []string{fmt.Sprintf("at: %d", p.Address), fmt.Sprintf("type: %s", p.Type)}
	add := func(is bool, format string, args ...any) {
		if is {
			f = append(f, fmt.Sprintf(format, args...))
		}
	}
	if p.Quantity.IsText() {
		add(true, "length: %d", p.Count)
		add(p.Table == Input, "table: input")
		return f
	}
	add(p.Table == Input, "table: input")
	add(p.Count > 1 && p.Order != ABCD, "order: %s", p.Order)
	add(p.Scale != 1, "scale: %v", p.Scale)
	add(p.Offset != 0, "offset: %v", p.Offset)
	add(p.ExponentAt >= 0, "exponent_at: %d", p.ExponentAt)
	add(p.Unit != "", "unit: %q", p.Unit)
	add(len(p.Absent) > 0, "absent: [%s]", strings.Join(p.absentTexts(), ", "))
	switch q := p.Quantity; {
	case q == reading.PowerFactor:
		add(true, "sign: %s", p.signText())
	case p.Negated && (q == reading.Power || q == reading.TotalPower):
		add(true, "positive: export")
	case p.Negated && (q == reading.VoltageAngle || q == reading.CurrentAngle):
		add(true, "positive: lag")
	case p.Negated:
		add(true, "positive: lead")
	}
	return f
}

func (p *Point) signText() string {
	switch {
	case p.PowerFactorSign == reading.SignTellsPower:
		return "power"
	case p.PowerFactorSign == reading.SignTellsLagging && p.Negated:
		return "lead"
	case p.PowerFactorSign == reading.SignTellsLagging:
		return "lag"
	}
	return "none"
}

func (p *Point) absentTexts() []string {
	var texts []string
	for _, a := range p.Absent {
		if p.Type.float() {
			texts = append(texts, strconv.FormatFloat(math.Float64frombits(uint64(a)), 'g', -1, 64))
			continue
		}
		texts = append(texts, strconv.FormatUint(uint64(a), 10))
	}
	return texts
}
