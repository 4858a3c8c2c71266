package sim

import (
	"fmt"
	"math"
	"math/rand/v2"

	"legwork/probe/reading"
	"legwork/probe/regmap"
)

// What follows are assumptions about how meters set out their registers: common
// practice, no source. The shares are ours.

// quantityForms are the forms of the quantities of one meter.
type quantityForms map[string]form

// planner sets out one layout.
type planner struct {
	*rand.Rand
	forms    quantityForms
	channels int // of the service
	slots    int // that the meter has registers for
	copies   bool
	signless bool // power factor without a sign
}

func pick[T any](rng *rand.Rand, from ...T) T { return from[rng.IntN(len(from))] }

func (p *planner) chance(share float64) bool { return p.Float64() < share }

// plan draws the layout.
func (l *Layout) plan() {
	n := l.site.Panel.Supply.Service.Channels()
	p := &planner{Rand: l.rng, channels: n, slots: n, signless: l.rng.Float64() < 0.3}
	if n < 3 && p.chance(0.5) {
		p.slots = 3
	}
	l.slots = p.slots
	l.MostRegisters = pick(l.rng, 125, 125, 125, 100, 64, 60, 50, 32, 20, 16)
	p.forms = p.family(l)
	sections := [][]cell{p.main()}
	if p.chance(0.85) {
		sections = append(sections, p.energies())
	}
	for _, s := range []func() []cell{p.demands, p.quality, p.identity, p.clock} {
		if p.chance(0.6) {
			sections = append(sections, s())
		}
	}
	if p.chance(0.12) {
		p.forms, p.copies = p.family(l), true
		sections = append(sections, p.main())
	}
	if p.chance(0.5) {
		p.Shuffle(len(sections), func(i, j int) { sections[i], sections[j] = sections[j], sections[i] })
	}
	l.place(p, sections)
}

// place gives the sections their addresses: some follow straight on, some begin
// a block of their own.
func (l *Layout) place(p *planner, sections [][]cell) {
	table := pick(p.Rand, regmap.Holding, regmap.Holding, regmap.Input)
	at := pick(p.Rand, 0, 0, 1, 2, 10, 40, 100, 256, 300, 512, 1000, 2000, 3000, 4096, 5000, 8192, 16384, 30000, 40000)
	if p.chance(0.2) {
		at += p.IntN(50)
	}
	for i, cells := range sections {
		length := 0
		for _, c := range cells {
			length = max(length, c.at+c.registers())
		}
		if trail := p.IntN(3); p.chance(0.3) {
			length += trail
		}
		if last := len(l.blocks) - 1; i > 0 && p.chance(0.4) {
			b := &l.blocks[last]
			for _, c := range cells {
				c.at += int(b.Count)
				b.cells = append(b.cells, c)
			}
			b.Count += uint16(length)
			at += length
			continue
		}
		if i > 0 {
			at += pick(p.Rand, 2, 6, 10, 20, 50, 100, 200, 500)
			if p.chance(0.5) {
				at = (at + 99) / 100 * 100
			}
		}
		l.blocks = append(l.blocks, layoutBlock{Request: regmap.Request{Table: table, Address: uint16(at), Count: uint16(length)}, cells: cells})
		at += length
	}
	blank := pick(p.Rand, 0, 0, 0, 0, 0, 0, 0, 0xFFFF, 0x8000)
	for i := range l.blocks {
		b := &l.blocks[i]
		b.fill = make([]uint16, b.Count)
		for j := range b.fill {
			b.fill[j] = uint16(blank)
		}
	}
}

// family draws the forms: floats, wide or narrow integers, or some of both.
func (p *planner) family(l *Layout) quantityForms {
	order := pick(p.Rand, regmap.ABCD, regmap.ABCD, regmap.ABCD, regmap.CDAB, regmap.CDAB, regmap.BADC, regmap.DCBA)
	amps := l.site.rating()
	watts := amps * l.site.Panel.Supply.Service.Nominal * 1.8
	f := quantityForms{}
	set := func(kind regmap.Type, step float64, names ...string) {
		for _, name := range names {
			f[name] = form{kind, order, step}
		}
	}
	// fits draws a step with which most still fits, and has three digits at least.
	fits := func(most, largest float64, steps ...float64) float64 {
		for range 50 {
			if step := pick(p.Rand, steps...); most/step < largest && (most/step > 1500 || step == 1 && most < 1000) {
				return step
			}
		}
		return math.Pow10(int(math.Ceil(math.Log10(most / largest))))
	}
	volts := l.site.Panel.Supply.Service.Nominal * 2.2
	powers, totals := []string{"P", "Q", "S"}, []string{"Pt", "Qt", "St"}
	wide := func(names []string, most float64) {
		step := fits(most, 2e9, 1, 1, 0.1, 0.1, 0.01, 10, 0.001)
		set(regmap.S32, step, names...)
	}
	narrow := func(names []string, most float64) { set(regmap.S16, fits(most, 32767, 1, 0.1, 10, 10, 100), names...) }
	switch kind := p.Float64(); {
	case kind < 0.42:
		set(regmap.F32, 1, "V", "I", "F", "PF", "X", "THD")
		set(regmap.F32, pick(p.Rand, 1., 1, 1000), append(powers, totals...)...)
		set(pick(p.Rand, regmap.F32, regmap.F32, regmap.U32, regmap.S64, regmap.F64), pick(p.Rand, 1., 1000, 100), "E")
	case kind < 0.64:
		set(pick(p.Rand, regmap.U32, regmap.S32), pick(p.Rand, 0.1, 0.1, 0.01, 0.001), "V")
		set(pick(p.Rand, regmap.U32, regmap.S32), fits(amps*1.2, 2e9, 0.1, 0.01, 0.001, 0.001), "I")
		wide(append(powers, totals...), watts)
		set(regmap.S32, pick(p.Rand, 0.001, 0.0001, 0.01), "PF")
		set(regmap.U32, pick(p.Rand, 0.01, 0.1, 0.001), "F")
		set(regmap.U32, pick(p.Rand, 1., 10, 100, 1000), "E")
		set(regmap.U32, 0.1, "THD", "X")
	default:
		set(regmap.U16, fits(volts, 65535, 0.1, 0.1, 0.1, 0.01, 1), "V")
		set(regmap.U16, fits(amps*1.2, 65535, 0.1, 0.01, 0.01, 0.001), "I")
		if kind < 0.78 {
			wide(append(powers, totals...), watts)
		} else {
			narrow(powers, watts)
			f["Pt"] = f["P"]
			if narrow(totals, 3*watts); p.chance(0.3) {
				wide(totals, 3*watts)
			}
		}
		if kind > 0.92 {
			set(regmap.U32, 0.001, "I")
		}
		set(regmap.S16, pick(p.Rand, 0.001, 0.001, 0.0001, 0.01), "PF")
		set(regmap.U16, pick(p.Rand, 0.01, 0.01, 0.1), "F")
		set(pick(p.Rand, regmap.U32, regmap.U32, regmap.U64), pick(p.Rand, 1., 10, 100, 1000), "E")
		set(regmap.U16, 0.1, "THD", "X")
	}
	if p.signless && f["PF"].kind == regmap.S16 {
		f["PF"] = form{regmap.U16, order, f["PF"].step}
	}
	return f
}

// group is one quantity of all channels, and what stands after them.
type group struct {
	name  string
	each  []cell // a slot each
	after []cell
}

func (p *planner) of(name string, q reading.Quantity) group {
	g := group{name: name}
	for k := 1; k <= p.slots; k++ {
		value := ofChannel(q, k)
		if q == reading.PowerFactor && p.signless {
			value = magnitude(value)
		}
		g.each = append(g.each, p.cell(name, value, reading.Point{Quantity: q, Index: k}))
	}
	return g
}

// cell is one value in the form of a quantity; second copies have no point.
func (p *planner) cell(name string, value func(*scene) float64, point reading.Point) cell {
	if p.copies {
		point = reading.Point{}
	}
	return cell{form: p.forms[name], name: name, value: value, point: point}
}

func (p *planner) plus(g *group, share float64, name string, value func(*scene) float64, q reading.Quantity) {
	if p.slots > 1 && p.chance(share) {
		g.after = append(g.after, p.cell(name, value, reading.Point{Quantity: q}))
	}
}

// groups draws which quantities there are and in which order they stand.
func (p *planner) groups() []group {
	v, i, w := p.of("V", reading.Voltage), p.of("I", reading.Current), p.of("P", reading.Power)
	averages, totals := p.chance(0.35), p.chance(0.8)
	if averages {
		p.plus(&v, 1, "V", mean(reading.Voltage), 0)
		p.plus(&i, 1, "I", mean(reading.Current), 0)
	}
	p.plus(&i, 0.3, "I", ofPoint(reading.Point{Quantity: reading.NeutralCurrent}), reading.NeutralCurrent)
	all := map[string]group{"V": v, "I": i}
	if totals {
		p.plus(&w, 1, "Pt", ofPoint(reading.Point{Quantity: reading.TotalPower}), reading.TotalPower)
	}
	all["P"] = w
	if p.chance(0.8) {
		q := p.of("Q", reading.Reactive)
		if totals {
			p.plus(&q, 1, "Qt", ofPoint(reading.Point{Quantity: reading.TotalReactive}), reading.TotalReactive)
		}
		all["Q"] = q
	}
	if p.chance(0.7) {
		s := p.of("S", reading.Apparent)
		if totals {
			p.plus(&s, 1, "St", summed(reading.Apparent), 0)
		}
		all["S"] = s
	}
	if p.chance(0.75) {
		f := p.of("PF", reading.PowerFactor)
		if totals {
			p.plus(&f, 1, "PF", func(s *scene) float64 { return summed(reading.Power)(s) / max(1, summed(reading.Apparent)(s)) }, 0)
		}
		all["PF"] = f
	}
	if p.slots > 1 && p.chance(0.6) {
		all["L"] = p.lineVoltages(averages)
	}
	if p.chance(0.85) {
		all["F"] = group{name: "F", after: []cell{p.cell("F", ofPoint(reading.Point{Quantity: reading.Frequency}), reading.Point{Quantity: reading.Frequency})}}
	}
	if p.chance(0.15) {
		all["M"] = p.extremes()
	}
	orders := [][]string{{"V", "L", "I", "P", "Q", "S", "PF", "F", "M"}, {"V", "M", "I", "P", "Q", "S", "PF", "L", "F"}, {"I", "V", "L", "P", "Q", "S", "PF", "F", "M"},
		{"L", "V", "I", "P", "Q", "S", "PF", "F", "M"}, {"F", "V", "L", "I", "P", "Q", "S", "PF", "M"}, {"V", "I", "M", "P", "S", "Q", "PF", "F", "L"}, {"P", "Q", "S", "V", "I", "PF", "L", "F", "M"},
		{"V", "I", "PF", "P", "Q", "S", "F", "M", "L"}, {"I", "L", "V", "F", "PF", "P", "Q", "S", "M"}, {"V", "L", "I", "S", "P", "Q", "PF", "F", "M"}}
	var out []group
	for _, name := range pick(p.Rand, orders...) {
		if g, is := all[name]; is {
			out = append(out, g)
		}
	}
	return out
}

func (p *planner) lineVoltages(average bool) group {
	g := group{name: "L"}
	sum := func(*scene) float64 { return 0 }
	for i, pair := range []int{12, 23, 31} {
		value := func(s *scene) float64 { return s.reading.LineVoltages[i].Or(0) }
		before := sum
		sum = func(s *scene) float64 { return before(s) + value(s)/3 }
		if p.slots == 3 || i == 0 {
			g.each = append(g.each, p.cell("V", value, reading.Point{Quantity: reading.LineVoltage, Index: pair}))
		}
		if (i == 0) != (p.channels > 1) && p.channels < 3 {
			g.each[len(g.each)-1].point = reading.Point{} // there is none
		}
	}
	if average && p.slots == 3 {
		g.after = append(g.after, p.cell("V", sum, reading.Point{}))
	}
	return g
}

// extremes are the largest and smallest of voltages or currents: constants near
// what flows.
func (p *planner) extremes() group {
	g := group{name: "M"}
	name, q := "V", reading.Voltage
	if p.chance(0.5) {
		name, q = "I", reading.Current
	}
	for k := 1; k <= p.slots; k++ {
		g.each = append(g.each, p.cell(name, p.held(ofChannel(q, k), 1.002+0.05*p.Float64()), reading.Point{}))
	}
	return g
}

// held keeps the first value that it sees, times a factor.
func (p *planner) held(f func(*scene) float64, times float64) func(*scene) float64 {
	var first float64
	var is bool
	return func(s *scene) float64 {
		if !is {
			first, is = f(s)*times, true
		}
		return first
	}
}

// main sets the groups out, by quantity or by phase.
func (p *planner) main() []cell {
	groups := p.groups()
	if p.slots > 1 && p.chance(0.3) {
		return p.byPhase(groups)
	}
	var cells []cell
	at, gap := 0, pick(p.Rand, 0, 0, 0, 0, 1, 2, 4)
	times := 1
	if p.chance(0.08) {
		times = 2
	}
	for _, g := range groups {
		for _, c := range append(g.each, g.after...) {
			c.at = at
			at += c.registers() * times
			cells = append(cells, c)
		}
		if p.chance(0.5) {
			at += gap
		}
	}
	return cells
}

// byPhase gives each phase a record of the same form, and one for what is of
// all of them.
func (p *planner) byPhase(groups []group) []cell {
	var cells []cell
	at, record := 0, 0
	for _, g := range groups {
		if len(g.each) != p.slots {
			continue
		}
		record += g.each[0].registers()
	}
	record = max(record, pick(p.Rand, 0, 0, 0, record+2, record+6, 20, 32, 40, 50, 64, 100, 128))
	for k := range p.slots {
		at = k * record
		for _, g := range groups {
			if len(g.each) == p.slots {
				c := g.each[k]
				c.at = at
				at += c.registers()
				cells = append(cells, c)
			}
		}
	}
	at = p.slots * record
	for _, g := range groups {
		rest := g.after
		if len(g.each) != p.slots {
			rest = append(g.each, rest...)
		}
		for _, c := range rest {
			c.at = at
			at += c.registers()
			cells = append(cells, c)
		}
	}
	return cells
}

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
		cells = append(cells, p.cell("E", constantly(start*p.Float64()), reading.Point{}))
	}
	return inRow(cells...)
}

func constantly(x float64) func(*scene) float64 { return constant(math.Floor(x)) }

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
		parts = []cell{{form: wide, name: "seconds since 1970", value: func(s *scene) float64 { return float64(s.at.Unix()) }}}
	}
	if p.chance(0.5) {
		up := float64(p.IntN(1e7))
		parts = append(parts, cell{form: wide, name: "uptime", value: func(s *scene) float64 { return up + math.Floor(s.seconds) }})
	}
	for i := range p.IntN(6) {
		parts = append(parts, cell{form: narrow, name: fmt.Sprint("status ", i), value: constant(float64(p.IntN(4)))})
	}
	return inRow(parts...)
}
