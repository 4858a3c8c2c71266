package sim

import (
	"fmt"
	"math"

	"legwork/probe/reading"
	"legwork/probe/regmap"
)

// inRow puts cells one after another.
func inRow(cells ...cell) []cell {
	at := 0
	for i := range cells {
		cells[i].at = at
		at += cells[i].registers()
	}
	return cells
}

// energies are counters that have run for months.
func (p *planner) energies() []cell {
	var cells []cell
	each := p.slots > 1 && p.chance(0.4)
	counter := func(sum func(s *scene) float64, most float64, q reading.Quantity, k int) {
		start := most * p.Float64()
		c := p.cell("E", func(s *scene) float64 { return start + sum(s)/3600 }, reading.Point{Quantity: q, Index: k})
		cells = append(cells, c)
	}
	start := math.Pow10(5 + p.IntN(4)) // Wh
	counter(func(s *scene) float64 { return s.joules[0] + s.joules[1] + s.joules[2] }, start, reading.TotalEnergyImport, 0)
	if p.chance(0.7) {
		back := func(s *scene) float64 { return s.returned[0] + s.returned[1] + s.returned[2] }
		counter(back, start*pick(p.Rand, 0, 0, 0.01), reading.TotalEnergyExport, 0)
	}
	for k := 1; each && k <= p.slots; k++ {
		counter(func(s *scene) float64 { return s.joules[k-1] }, start/3, reading.EnergyImport, k)
	}
	if p.chance(0.4) {
		cells = append(cells, p.cell("E", constant(math.Floor(start*p.Float64())), reading.Point{}))
	}
	return inRow(cells...)
}

// demands stand near the powers and look like them: means over minutes, and
// the largest of those.
func (p *planner) demands() []cell {
	var cells []cell
	smooth := pick(p.Rand, 0, 0.02, 0.1)
	for k := 1; k <= p.slots; k++ {
		cells = append(cells, p.cell("P", func(s *scene) float64 {
			return (1-smooth)*s.demand[k-1] + smooth*ofChannel(reading.Power, k)(s)
		}, reading.Point{}))
	}
	for k := 1; k <= p.slots; k++ {
		cells = append(cells, p.cell("P", p.held(ofChannel(reading.Power, k), 1.02+p.Float64()), reading.Point{}))
	}
	for k := 1; k <= p.slots && p.chance(0.9); k++ {
		cells = append(cells, p.cell("I", p.held(ofChannel(reading.Current, k), 0.8+p.Float64()), reading.Point{}))
	}
	return inRow(cells...)
}

// quality holds distortions, harmonics and angles.
func (p *planner) quality() []cell {
	var cells []cell
	wave := func(most float64) func(*scene) float64 {
		middle := most * p.Float64()
		return func(s *scene) float64 { return math.Abs(middle * (1 + 0.05*s.ripple())) }
	}
	for range 2 * p.slots {
		cells = append(cells, p.cell("THD", wave(pick(p.Rand, 3., 40)), reading.Point{}))
	}
	for range p.IntN(3) * 8 {
		cells = append(cells, p.cell("THD", wave(5), reading.Point{}))
	}
	if p.chance(0.4) {
		for k := 1; k <= p.slots; k++ {
			cells = append(cells, p.cell("X", func(s *scene) float64 {
				return math.Mod(ofChannel(reading.VoltageAngle, k)(s)+360, 360)
			}, reading.Point{}))
		}
	}
	return inRow(cells...)
}

// identity holds numbers and settings that never move.
func (p *planner) identity() []cell {
	var cells []cell
	word := func(name string, x float64) {
		cells = append(cells, cell{form: form{regmap.U16, regmap.ABCD, 1}, name: name, value: constant(x)})
	}
	for i := range 4 + p.IntN(8) {
		word(fmt.Sprint("letters ", i), float64((48+p.IntN(43))<<8|48+p.IntN(43)))
	}
	for i := range 2 + p.IntN(12) {
		x := p.IntN(300)
		if p.chance(0.3) {
			x = p.IntN(65536)
		}
		word(fmt.Sprint("setting ", i), float64(x))
	}
	for range p.IntN(3) {
		word("nominal voltage", pick(p.Rand, 120., 208, 230, 277, 2300, 1200, 2400, 4000))
		word("nominal current", pick(p.Rand, 5., 50, 100, 200, 400))
	}
	return inRow(cells...)
}

// clock holds what runs by the second.
func (p *planner) clock() []cell {
	narrow, wide := form{regmap.U16, regmap.ABCD, 1}, form{regmap.U32, p.forms["V"].order, 1}
	parts := []cell{
		{form: narrow, name: "year", value: func(s *scene) float64 { return float64(s.at.Year()) }},
		{form: narrow, name: "month", value: func(s *scene) float64 { return float64(s.at.Month()) }},
		{form: narrow, name: "day", value: func(s *scene) float64 { return float64(s.at.Day()) }},
		{form: narrow, name: "hour", value: func(s *scene) float64 { return float64(s.at.Hour()) }},
		{form: narrow, name: "minute", value: func(s *scene) float64 { return float64(s.at.Minute()) }},
		{form: narrow, name: "second", value: func(s *scene) float64 { return float64(s.at.Second()) }},
	}
	if p.chance(0.5) {
		seconds := func(s *scene) float64 { return float64(s.at.Unix()) }
		parts = []cell{{form: wide, name: "seconds since 1970", value: seconds}}
	}
	if p.chance(0.5) {
		up := float64(p.IntN(1e7))
		running := func(s *scene) float64 { return up + math.Floor(s.seconds) }
		parts = append(parts, cell{form: wide, name: "uptime", value: running})
	}
	for i := range p.IntN(6) {
		parts = append(parts, cell{form: narrow, name: fmt.Sprint("status ", i), value: constant(float64(p.IntN(4)))})
	}
	return inRow(parts...)
}
