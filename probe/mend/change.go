package mend

import (
	"fmt"
	"math"

	"legwork/probe/reading"
	"legwork/probe/regmap"
)

// change is one way to read points otherwise.
type change struct {
	key     string // of the map
	text    string // what to do: write `order: CDAB`
	touches func(p *regmap.Point) bool
	apply   func(p *regmap.Point)
	weight  float64 // what it costs to believe it
}

// What it costs to believe a mend: of every point alike, of one quantity on all
// channels, of one point. Our choice, no source.
const (
	ofAll      = 0.6
	ofQuantity = 0.8
	ofOne      = 1.4
)

// changes lists every single change that a map's points could have.
func changes(m *regmap.Map) []change {
	var all []change
	add := func(c change, weight float64, among func(p *regmap.Point) bool) {
		touches := c.touches
		c.touches = func(p *regmap.Point) bool { return !p.Quantity.IsText() && among(p) && touches(p) }
		c.weight += weight
		all = append(all, c)
	}
	for _, c := range ways() {
		add(c, ofAll, func(*regmap.Point) bool { return true })
		seen := map[reading.Quantity]bool{}
		for _, p := range m.Points() {
			q, id := p.Quantity, p.Point
			if !seen[q] {
				seen[q] = true
				add(c, ofQuantity, func(p *regmap.Point) bool { return p.Quantity == q })
			}
			if q.Scope() != reading.Once {
				add(c, ofOne, func(p *regmap.Point) bool { return p.Point == id })
			}
		}
	}
	return all
}

// ways are the changes, of whichever points.
func ways() []change {
	var all []change
	for _, o := range []regmap.Order{regmap.ABCD, regmap.CDAB, regmap.BADC, regmap.DCBA} {
		all = append(all, change{key: "order", text: fmt.Sprintf("write `order: %s`", o),
			touches: func(p *regmap.Point) bool { return p.Count > 1 && p.Order != o },
			apply:   func(p *regmap.Point) { p.Order = o }})
	}
	for _, pair := range [][2]regmap.Type{{regmap.U16, regmap.S16}, {regmap.U32, regmap.S32}, {regmap.U64, regmap.S64},
		{regmap.S16, regmap.U16}, {regmap.S32, regmap.U32}, {regmap.F32, regmap.S32}, {regmap.S32, regmap.F32}, {regmap.U32, regmap.F32}} {
		from, to := pair[0], pair[1]
		all = append(all, change{key: "type", text: fmt.Sprintf("write `type: %s`", to), weight: 0.1,
			touches: func(p *regmap.Point) bool { return p.Type == from },
			apply:   func(p *regmap.Point) { p.Type = to }})
	}
	for _, e := range []int{-3, -2, -1, 1, 2} {
		all = append(all, scaled(math.Pow10(e), fmt.Sprintf("multiply the scale by %g", math.Pow10(e)), 0.05*math.Abs(float64(e)), isNoAngle))
	}
	// What line for leg voltages, halves and thirds do; seldom (our choice).
	for _, f := range []float64{2, 0.5, math.Sqrt(3), 1 / math.Sqrt(3), 3, 1. / 3} {
		all = append(all, scaled(f, fmt.Sprintf("multiply the scale by %.4g", f), 0.4, isNoAngle))
	}
	// Powers and energies are given in kilo more often than not (common practice,
	// no source), and currents and voltages seldom.
	const kilo = "multiply the scale by 1000, or write the unit with k before it, such as kW for W"
	all = append(all, scaled(1000, kilo, 0.05, isPower),
		scaled(1000, kilo, 0.15, func(p *regmap.Point) bool { return isNoAngle(p) && !isPower(p) }))
	all = append(all, change{key: "unit", text: "write `unit: rad`", touches: isAngle,
		apply: func(p *regmap.Point) { p.Unit, p.Factor = "rad", p.Factor*180/math.Pi }})
	all = append(all, change{key: "scale", text: "multiply the scale by 0.1", touches: isAngle, apply: func(p *regmap.Point) { p.Scale *= 0.1 }})
	for _, by := range []int{-1, 1} {
		all = append(all, change{key: "at", text: fmt.Sprintf("change every `at` by %+d: an address is off by one", by), weight: 0.1,
			touches: func(p *regmap.Point) bool { return p.Address+by >= 0 && p.Address+by+p.Count <= 1<<16 },
			apply: func(p *regmap.Point) {
				p.Address += by
				if p.ExponentAt >= 0 {
					p.ExponentAt += by
				}
			}})
	}
	for _, t := range []regmap.Table{regmap.Holding, regmap.Input} {
		all = append(all, change{key: "table", text: fmt.Sprintf("write `table: %s`", t), weight: 0.1,
			touches: func(p *regmap.Point) bool { return p.Table != t },
			apply:   func(p *regmap.Point) { p.Table = t }})
	}
	return all
}

func isAngle(p *regmap.Point) bool { return p.Quantity.Unit() == "deg" && p.Unit != "rad" }

func isNoAngle(p *regmap.Point) bool { return p.Quantity.Unit() != "deg" }

// isPower reports a power or an energy.
func isPower(p *regmap.Point) bool {
	switch p.Quantity.Unit() {
	case "W", "var", "VA", "Wh", "VAh":
		return true
	}
	return false
}

// scaled is a change of the scale by a factor.
func scaled(factor float64, text string, weight float64, touches func(p *regmap.Point) bool) change {
	return change{key: "scale", text: text, weight: weight, touches: touches, apply: func(p *regmap.Point) { p.Scale *= factor }}
}
