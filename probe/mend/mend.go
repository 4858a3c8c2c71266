package mend

import (
	"fmt"
	"slices"
	"strings"

	"legwork/probe/reading"
	"legwork/probe/regmap"
)

// Registers are those that were read, by table and address.
type Registers map[regmap.Table]map[int]uint16

// Add keeps a block.
func (r Registers) Add(b regmap.Block) {
	if r[b.Table] == nil {
		r[b.Table] = map[int]uint16{}
	}
	for i, w := range b.Words {
		r[b.Table][int(b.Address)+i] = w
	}
}

// lacks counts the points whose registers were not read: nothing may be mended
// by looking away.
func (r Registers) lacks(m *regmap.Map) int {
	n := 0
	for _, p := range m.Points() {
		for i := range p.Count {
			if _, read := r[p.Table][p.Address+i]; !read {
				n++
				break
			}
		}
	}
	return n
}

// blocks gives what the map needs, a block a point, as far as it was read.
func (r Registers) blocks(m *regmap.Map) []regmap.Block {
	var blocks []regmap.Block
	add := func(t regmap.Table, address, count int) {
		words := make([]uint16, count)
		for i := range words {
			w, read := r[t][address+i]
			if !read {
				return
			}
			words[i] = w
		}
		blocks = append(blocks, regmap.Block{Request: regmap.Request{Table: t, Address: uint16(address), Count: uint16(count)}, Words: words})
	}
	for _, p := range m.Points() {
		add(p.Table, p.Address, p.Count)
		if p.ExponentAt >= 0 {
			add(p.Table, p.ExponentAt, 1)
		}
	}
	return blocks
}

// Mend is one change of a map.
type Mend struct {
	Points []string `json:"points"` // whom it concerns, in the map's order
	Change string   `json:"change"`
	Why    []string `json:"why"` // what the worst of them read before, and after
	Or     []string `json:"or"`  // other changes that would do as well
}

// Proposal is what would make a map fit.
type Proposal struct {
	Mends []Mend
	Map   *regmap.Map // with all of them

	Before, After float64 // contradiction of the readings; 0 is none
}

const (
	mostMends = 4
	worthIt   = 1.5 // contradiction that a mend must take away beyond its weight
	asGood    = 0.3
)

// Propose finds the mends for what was read, at one instant or at several.
// Without a contradiction there are none.
func Propose(m *regmap.Map, read []Registers) Proposal {
	p := Proposal{Map: m, Before: contradiction(m, read)}
	p.After = p.Before
	for range mostMends {
		best, others := p.step(m, read)
		if best == nil {
			break
		}
		after := p.Map.Changed(best.to)
		p.Mends = append(p.Mends, describe(p.Map, after, *best, read[len(read)-1]).or(others))
		p.Map, p.After = after, contradiction(after, read)
	}
	return p
}

func (c change) to(p *regmap.Point) {
	if c.touches(p) {
		c.apply(p)
	}
}

// step gives the change that takes most away, nil where none is worth it, and
// what would do as well: other changes of the same points, and changes of others
// alone.
func (p *Proposal) step(m *regmap.Map, read []Registers) (*change, []string) {
	var best *change
	var gains []float64
	all := slices.DeleteFunc(changes(m), func(c change) bool { return len(touched(p.Map, c)) == 0 })
	most := worthIt
	for i, c := range all {
		gain := p.After - contradiction(p.Map.Changed(c.to), read) - c.weight
		gains = append(gains, gain)
		if gain > most {
			best, most = &all[i], gain
		}
	}
	if best == nil {
		return nil, nil
	}
	var others []string
	its := touched(p.Map, *best)
	for i, c := range all {
		if &all[i] == best || most-gains[i] >= asGood {
			continue
		}
		switch who := touched(p.Map, c); {
		case slices.Equal(who, its) && c.key != best.key:
			others = append(others, c.text)
		case !slices.ContainsFunc(who, func(one string) bool { return slices.Contains(its, one) }):
			others = append(others, fmt.Sprintf("%s for %s alone", c.text, strings.Join(who, ", ")))
		}
	}
	return best, others
}

func touched(m *regmap.Map, c change) []string {
	var names []string
	for _, p := range m.Points() {
		if c.touches(&p) {
			names = append(names, p.String())
		}
	}
	return names
}

func (m Mend) or(others []string) Mend {
	m.Or = others
	return m
}

// contradiction is the mean over the instants.
func contradiction(m *regmap.Map, read []Registers) float64 {
	has := map[reading.Point]bool{}
	for _, p := range m.Points() {
		has[p.Point] = true
	}
	sum := 0.
	for _, registers := range read {
		r := decoded(m, registers)
		sum += worst * float64(registers.lacks(m))
		sum += cost(&r, func(q reading.Quantity, index int) bool { return has[reading.Point{Quantity: q, Index: index}] })
	}
	return sum / float64(len(read))
}

func decoded(m *regmap.Map, registers Registers) reading.Reading {
	var r reading.Reading
	m.Decode(registers.blocks(m), &r)
	return r
}

// describe says what a change does to what was read last.
func describe(before, after *regmap.Map, c change, registers Registers) Mend {
	m := Mend{Points: touched(before, c), Change: c.text}
	was, is := decoded(before, registers), decoded(after, registers)
	for _, p := range before.Points() {
		if !c.touches(&p) || len(m.Why) == 3 {
			continue
		}
		m.Why = append(m.Why, fmt.Sprintf("%s reads %s, and with that %s", p.Point, show(p.Point, &was), show(p.Point, &is)))
	}
	return m
}

func show(p reading.Point, r *reading.Reading) string {
	x, ok := r.Number(p).Get()
	if !ok {
		return "nothing"
	}
	return strings.TrimSpace(fmt.Sprintf("%.4g %s", x, p.Quantity.Unit()))
}
