package sim

import (
	"math"
	"strings"

	"legwork/probe/reading"
)

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
			value = func(s *scene) float64 { return math.Abs(ofChannel(q, k)(s)) }
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

// optionalGroups are those that some meters lack, and what is their total.
var optionalGroups = []struct {
	name          string
	share         float64 // of the meters that have it
	quantity      reading.Quantity
	totalName     string
	total         func(*scene) float64
	totalQuantity reading.Quantity // 0 where no map has a name for it
}{
	{"Q", 0.8, reading.Reactive, "Qt", ofPoint(reading.Point{Quantity: reading.TotalReactive}), reading.TotalReactive},
	{"S", 0.7, reading.Apparent, "St", summed(reading.Apparent), 0},
	{"PF", 0.75, reading.PowerFactor, "PF", func(s *scene) float64 {
		return summed(reading.Power)(s) / max(1, summed(reading.Apparent)(s))
	}, 0},
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
	for _, o := range optionalGroups {
		if !p.chance(o.share) {
			continue
		}
		g := p.of(o.name, o.quantity)
		if totals {
			p.plus(&g, 1, o.totalName, o.total, o.totalQuantity)
		}
		all[o.name] = g
	}
	if p.slots > 1 && p.chance(0.6) {
		all["L"] = p.lineVoltages(averages)
	}
	if p.chance(0.85) {
		f := reading.Point{Quantity: reading.Frequency}
		all["F"] = group{name: "F", after: []cell{p.cell("F", ofPoint(f), f)}}
	}
	if p.chance(0.15) {
		all["M"] = p.extremes()
	}
	order := pick(p.Rand, "V L I P Q S PF F M", "V M I P Q S PF L F", "I V L P Q S PF F M", "L V I P Q S PF F M",
		"F V L I P Q S PF M", "V I M P S Q PF F L", "P Q S V I PF L F M", "V I PF P Q S F M L", "I L V F PF P Q S M",
		"V L I S P Q PF F M")
	var out []group
	for _, name := range strings.Fields(order) {
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
