package mend

import (
	"math"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/probe/reading"
	"legwork/probe/regmap"
	"legwork/sim"
)

// SetWords makes Registers a bank that a map can fill.
func (r Registers) SetWords(t regmap.Table, address uint16, words []uint16) {
	r.Add(regmap.Block{Request: regmap.Request{Table: t, Address: address, Count: uint16(len(words))}, Words: words})
}

// meter gives the registers of a simulated meter at a few instants, with ten
// more on either side.
func meter(t *testing.T, place, fault string) (*regmap.Map, []Registers) {
	p, err := sim.Open(place, sim.Options{Fault: fault, Seed: 5})
	require.NoError(t, err)
	m, err := regmap.Parse(p.Map())
	require.NoError(t, err)
	m = m.Changed(shift(4)) // room for addresses that are too low
	var read []Registers
	for i := range 3 {
		r := Registers{}
		r.SetWords(regmap.Holding, 0, make([]uint16, 160))
		one := p.At(time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC).Add(time.Duration(i) * time.Minute))
		m.Encode(&one, r)
		read = append(read, r)
	}
	return m, read
}

func ofQuantities(quantities ...reading.Quantity) func(p *regmap.Point) bool {
	return func(p *regmap.Point) bool { return slices.Contains(quantities, p.Quantity) }
}

func ofPoint(q reading.Quantity, index int) func(p *regmap.Point) bool {
	return func(p *regmap.Point) bool { return p.Point == reading.Point{Quantity: q, Index: index} }
}

func shift(by int) func(p *regmap.Point) {
	return func(p *regmap.Point) {
		p.Address += by
		if p.ExponentAt >= 0 {
			p.ExponentAt += by
		}
	}
}

func all(p *regmap.Point) bool { return !p.Quantity.IsText() }

// A map in order is left alone, however the meter is wired.
func TestNothingToMend(t *testing.T) {
	if testing.Short() {
		t.Skip("long, and of one goroutine")
	}
	for _, place := range sim.Names() {
		for _, fault := range []string{"", "ct1-reversed", "v1-v2-crossed", "ct1-open", "v1-dead"} {
			if place == "boathouse-flat" && fault == "v1-v2-crossed" {
				continue
			}
			m, read := meter(t, place, fault)
			p := Propose(m, read)
			require.Empty(t, p.Mends, "%s %s: %.1f", place, fault, p.Before)
		}
	}
}

// Maps that are wrong in one way, and what should be proposed.
func TestMendsWhatIsWrong(t *testing.T) {
	if testing.Short() {
		t.Skip("long, and of one goroutine")
	}
	tests := []struct {
		name   string
		place  string
		fault  string
		among  func(p *regmap.Point) bool
		spoil  func(p *regmap.Point)
		change string
	}{
		{"words exchanged everywhere", "kiln-house", "", all, func(p *regmap.Point) { p.Order = regmap.CDAB }, "write `order: ABCD`"},
		{"bytes exchanged everywhere", "kiln-house", "", all, func(p *regmap.Point) { p.Order = regmap.BADC }, "write `order: ABCD`"},
		{"words of the powers exchanged", "kiln-house", "ct2-reversed", ofQuantities(reading.Power), func(p *regmap.Point) { p.Order = regmap.CDAB }, "write `order: ABCD`"},
		{"kW taken for W", "kiln-house", "", ofQuantities(reading.Power), func(p *regmap.Point) { p.Scale /= 1000 }, "multiply the scale by 1000, or write the unit with k before it, such as kW for W"},
		{"current a tenth", "kiln-house", "ct1-reversed", ofQuantities(reading.Current), func(p *regmap.Point) { p.Scale /= 10 }, "multiply the scale by 10"},
		{"voltage in tenths", "kiln-house", "", ofQuantities(reading.Voltage), func(p *regmap.Point) { p.Scale *= 10 }, "multiply the scale by 0.1"},
		{"powers by the square root of three", "kiln-house", "ct2-reversed", ofQuantities(reading.Power), func(p *regmap.Point) { p.Scale /= math.Sqrt(3) }, "multiply the scale by 1.732"},
		{"one voltage twice over", "kiln-house", "", ofPoint(reading.Voltage, 2), func(p *regmap.Point) { p.Scale *= 2 }, "multiply the scale by 0.5"},
		{"an address too high", "kiln-house", "", all, shift(1), "change every `at` by -1: an address is off by one"},
		{"an address too low", "kiln-house", "ct1-ct2-crossed", all, shift(-1), "change every `at` by +1: an address is off by one"},
		{"input for holding", "kiln-house", "", all, func(p *regmap.Point) { p.Table = regmap.Input }, "write `table: holding`"},
		{"reversed power read as unsigned", "cottage-bakery", "ct1-reversed", ofQuantities(reading.Power), unsigned, "write `type: s32`"},
		{"degrees taken for radians", "kiln-house", "ct2-ct3-crossed", ofQuantities(reading.AngleOf), func(p *regmap.Point) { p.Scale *= 3.14159265 / 180 }, "write `unit: rad`"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			right, read := meter(t, test.place, test.fault)
			touched := 0
			wrong := right.Changed(func(p *regmap.Point) {
				if test.among(p) {
					touched++
					test.spoil(p)
				}
			})
			require.Positive(t, touched)
			p := Propose(wrong, read)
			require.NotEmpty(t, p.Mends)
			require.Equal(t, test.change, p.Mends[0].Change, "%+v", p.Mends)
			require.NotEmpty(t, p.Mends[0].Why)
			require.Less(t, p.After, 0.5)
			for i, r := range read {
				want, got := decoded(right, r), decoded(p.Map, r)
				for k := range want.Channels {
					require.InDelta(t, want.Channels[k].Voltage.Or(-1), got.Channels[k].Voltage.Or(-2), 1e-6, i)
					require.InDelta(t, want.Channels[k].Current.Or(-1), got.Channels[k].Current.Or(-2), 1e-6)
					require.InDelta(t, want.Channels[k].Power.Or(-1), got.Channels[k].Power.Or(-2), 1e-3)
				}
			}
		})
	}
}

func unsigned(p *regmap.Point) {
	p.Type = map[regmap.Type]regmap.Type{regmap.S16: regmap.U16, regmap.S32: regmap.U32}[p.Type]
}

// Two things wrong at once.
func TestMendsTwoThings(t *testing.T) {
	right, read := meter(t, "kiln-house", "")
	wrong := right.Changed(func(p *regmap.Point) {
		if all(p) {
			p.Order = regmap.CDAB
		}
		if p.Quantity == reading.Power {
			p.Scale = 0.001
		}
	})
	p := Propose(wrong, read)
	require.Len(t, p.Mends, 2)
	require.Less(t, p.After, 0.5, "%+v", p.Mends)
}

// A mended map is written as a file that reads as it does.
func TestMendedMapIsWritten(t *testing.T) {
	for _, place := range sim.Names() {
		m, _ := meter(t, place, "")
		again, err := regmap.Parse("copy.yaml", m.YAML("Mended copy"))
		require.NoError(t, err, string(m.YAML("")))
		require.Equal(t, m.YAML(""), again.YAML(""))
	}
}

// A power factor of a thousandth would explain powers that are too small as well
// as their scale does, and isn't offered beside it.
func TestAStrangePowerFactorIsNoMend(t *testing.T) {
	m, err := regmap.Parse("kilo.yaml", []byte(`legwork-map: 1
points:
  voltage.1: {at: 0, type: f32}
  voltage.2: {at: 2, type: f32}
  voltage.3: {at: 4, type: f32}
  current.1: {at: 6, type: f32}
  current.2: {at: 8, type: f32}
  current.3: {at: 10, type: f32}
  power.1: {at: 12, type: f32, scale: 0.001}
  power.2: {at: 14, type: f32, scale: 0.001}
  power.3: {at: 16, type: f32, scale: 0.001}
  pf.1: {at: 30, type: f32, sign: power}
  pf.2: {at: 32, type: f32, sign: power}
  pf.3: {at: 34, type: f32, sign: power}
`))
	require.NoError(t, err)
	for seed := range uint64(20) {
		p, err := sim.Open("kiln-house", sim.Options{Seed: seed})
		require.NoError(t, err)
		var read []Registers
		for i := range 3 {
			r := Registers{}
			p.Fill(time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC).Add(time.Duration(i)*300*time.Millisecond), r)
			read = append(read, r)
		}
		proposal := Propose(m, read)
		require.Len(t, proposal.Mends, 1)
		require.Contains(t, proposal.Mends[0].Change, "multiply the scale by 1000")
		for _, or := range proposal.Mends[0].Or {
			require.NotContains(t, or, "pf.", seed)
		}
	}
}

// A CT on another leg may read next to no power. What another order of its words would
// read is then no reason to change that point alone.
func TestNextToNoPowerIsNoReason(t *testing.T) {
	m, err := regmap.Parse("m.yaml", []byte(`legwork-map: 1
order: DCBA
points:
  voltage.1: {at: 1, type: u32, scale: 0.1}
  voltage.2: {at: 3, type: u32, scale: 0.1}
  voltage.3: {at: 5, type: u32, scale: 0.1}
  current.1: {at: 9, type: u32, scale: 0.01}
  current.2: {at: 11, type: u32, scale: 0.01}
  current.3: {at: 13, type: u32, scale: 0.01}
  power.1: {at: 19, type: s32}
  power.2: {at: 21, type: s32}
  power.3: {at: 23, type: s32}
`))
	require.NoError(t, err)
	r := reading.Reading{Channels: make([]reading.Channel, 3)}
	for k, x := range [][3]float64{{231.8, 266.8, 125}, {229.8, 305.3, 69792}, {232.9, 285.3, -42846}} {
		r.Channels[k] = reading.Channel{Voltage: reading.Known(x[0]), Current: reading.Known(x[1]), Power: reading.Known(x[2])}
	}
	read := Registers{}
	read.SetWords(regmap.Holding, 0, make([]uint16, 60))
	m.Encode(&r, read)
	require.Empty(t, Propose(m, []Registers{read}).Mends)
}
