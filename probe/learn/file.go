package learn

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"legwork/probe/reading"
	"legwork/probe/regmap"
)

// File is the register map, with what ties each point and how probable it is as
// comments. What isn't settled stands as comments only, so that package regmap
// refuses the file where no channel is left.
func (r *Result) File() []byte {
	var b strings.Builder
	fmt.Fprintf(&b, "# Learned from the live meter, without its documentation.\nlegwork-map: %d\n", regmap.Version)
	if r.Meter != "" {
		fmt.Fprintf(&b, "meter: %s\n", strconv.Quote(r.Meter))
	}
	if r.Unit != 0 {
		fmt.Fprintf(&b, "unit: %d\n", r.Unit)
	}
	b.WriteString("points:\n")
	for _, p := range r.Points {
		fmt.Fprintf(&b, "  # %s\n", p.because())
		fmt.Fprintf(&b, "  %s\n", p.line())
	}
	if len(r.Open) > 0 {
		b.WriteString("# Not settled, the likeliest reading of each:\n")
	}
	for _, d := range r.Doubts {
		fmt.Fprintf(&b, "# %s\n", d)
	}
	for _, p := range r.Open {
		fmt.Fprintf(&b, "#   %s\n#     %s\n", p.line(), p.because())
	}
	return []byte(b.String())
}

// Map is the map that File writes; nil where no channel has a voltage, a
// current and a power.
func (r *Result) Map() *regmap.Map {
	m, err := regmap.Parse("learned", r.File())
	if err != nil {
		return nil
	}
	return m
}

// NeverNegative is what there is to say of a power of which no sign was seen.
const NeverNegative = "never negative: its sign is not proven"

// because says how probable a point is, and what ties it.
func (p *Point) because() string {
	words := []string{fmt.Sprintf("%.1f %%", math.Min(99.9, 100*p.Probability))}
	for _, t := range p.Ties {
		words = append(words, t.String())
	}
	if p.NoSignSeen {
		words = append(words, NeverNegative)
	}
	return strings.Join(words, "; ")
}

// line is the point as a map has it.
func (p *Point) line() string {
	fields := []string{fmt.Sprintf("at: %d", p.Address), fmt.Sprintf("type: %s", p.Type)}
	add := func(is bool, format string, args ...any) {
		if is {
			fields = append(fields, fmt.Sprintf(format, args...))
		}
	}
	add(p.Table == regmap.Input, "table: input")
	add(p.Count > 1 && p.Order != regmap.ABCD, "order: %s", p.Order)
	add(p.Scale != 1, "scale: %s", strconv.FormatFloat(p.Scale, 'g', 6, 64))
	signed := slices.Contains([]regmap.Type{regmap.S16, regmap.S32, regmap.F32}, p.Type)
	if p.Quantity == reading.PowerFactor && signed {
		add(true, "sign: %s", [...]string{"none", "power", "lag"}[p.PowerFactorSign])
	}
	return fmt.Sprintf("%s: {%s}", p.Point.Point, strings.Join(fields, ", "))
}
