package sim

import (
	"math"
	"math/rand/v2"

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
		q := regmap.Request{Table: table, Address: uint16(at), Count: uint16(length)}
		l.blocks = append(l.blocks, layoutBlock{Request: q, cells: cells})
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
