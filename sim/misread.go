package sim

import (
	"fmt"
	"math"
	"slices"

	"legwork/probe/reading"
)

// Misreading is what a register map that is wrong makes of a right reading.
type Misreading struct {
	Name string
	do   func(*reading.Reading)
}

// Apply spoils the reading as the map would.
func (m Misreading) Apply(r *reading.Reading) { m.do(r) }

// Misreadings lists what a wrong map does to a reading.
func Misreadings() []Misreading {
	channels := func(do func(c *reading.Channel)) func(*reading.Reading) {
		return func(r *reading.Reading) {
			for k := range r.Channels {
				do(&r.Channels[k])
			}
		}
	}
	scaled := func(q reading.Quantity, by float64) Misreading {
		return Misreading{fmt.Sprintf("%s times %g", q, by), func(r *reading.Reading) {
			times(r, q, func(x float64) float64 { return x * by })
		}}
	}
	return []Misreading{
		scaled(reading.Power, 10), scaled(reading.Power, 1000), scaled(reading.Power, 0.001), scaled(reading.Power, 0.1),
		scaled(reading.Current, 0.1), scaled(reading.Current, 10), scaled(reading.Voltage, 10), scaled(reading.Voltage, 0.1),
		{"words exchanged", func(r *reading.Reading) {
			for _, q := range [...]reading.Quantity{reading.Voltage, reading.Current, reading.Power, reading.Reactive, reading.Apparent} {
				times(r, q, wordsExchanged)
			}
		}},
		{"one value off", channels(func(c *reading.Channel) {
			c.Voltage, c.Current, c.Power, c.Reactive = c.Current, c.Power, c.Reactive, c.Apparent
		})},
		{"power turned over", func(r *reading.Reading) { times(r, reading.Power, func(x float64) float64 { return -x }) }},
		{"lag for lead", channels(func(c *reading.Channel) {
			c.Angle = c.Angle.Map(func(a reading.Angle) reading.Angle { return reading.Degrees(-float64(a)) })
			c.Reactive = c.Reactive.Map(func(x float64) float64 { return -x })
		})},
	}
}

// FindMisreading gives one by its name. The error lists those there are.
func FindMisreading(name string) (Misreading, error) {
	all := Misreadings()
	names := make([]string, len(all))
	for i, m := range all {
		names[i] = m.Name
	}
	if i := slices.Index(names, name); i >= 0 {
		return all[i], nil
	}
	return Misreading{}, fmt.Errorf("%q is no misreading; there are %q", name, names)
}

// times changes one quantity on every channel, and its total.
func times(r *reading.Reading, q reading.Quantity, change func(float64) float64) {
	total := map[reading.Quantity]reading.Quantity{reading.Power: reading.TotalPower, reading.Reactive: reading.TotalReactive}
	for _, p := range reading.Points() {
		if p.Quantity == q || p.Quantity == total[q] {
			r.SetNumber(p, r.Number(p).Map(change))
		}
	}
}

// wordsExchanged is a 32-bit float whose two registers were taken in the wrong order.
func wordsExchanged(x float64) float64 {
	bits := math.Float32bits(float32(x))
	return float64(math.Float32frombits(bits<<16 | bits>>16))
}
