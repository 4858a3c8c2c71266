package diagnose_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/probe/reading"
	"legwork/sim"
)

// misreading is what a register map that is wrong makes of a right reading.
type misreading struct {
	name string
	do   func(*reading.Reading)
}

// misreadings lists what a wrong map does to a reading.
func misreadings() []misreading {
	channels := func(do func(c *reading.Channel)) func(*reading.Reading) {
		return func(r *reading.Reading) {
			for k := range r.Channels {
				do(&r.Channels[k])
			}
		}
	}
	scaled := func(q reading.Quantity, by float64) misreading {
		return misreading{fmt.Sprintf("%s times %g", q, by), func(r *reading.Reading) {
			times(r, q, func(x float64) float64 { return x * by })
		}}
	}
	return []misreading{
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

// misread spoils a reading by the misreading of a name.
func misread(t testing.TB, name string, r *reading.Reading) {
	all := misreadings()
	i := slices.IndexFunc(all, func(m misreading) bool { return m.name == name })
	require.GreaterOrEqual(t, i, 0, name)
	all[i].do(r)
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

func TestMisreadings(t *testing.T) {
	require.InDelta(t, 120.5, wordsExchanged(wordsExchanged(120.5)), 1e-9)
	require.Greater(t, wordsExchanged(87.23), 1e6, "no size of anything")
	site, err := sim.RandomSite(rand.New(rand.NewPCG(4, 5)), "120/208Y", sim.MixedLoads())
	require.NoError(t, err)
	was := site.Read()
	for _, m := range misreadings() {
		r := was.Clone()
		misread(t, m.name, &r)
		require.NotEqual(t, was.Channels, r.Channels, m.name)
	}
	r := was.Clone()
	misread(t, "power times 1000", &r)
	require.InDelta(t, 1000*was.Channels[1].Power.Or(0), r.Channels[1].Power.Or(0), 1e-6)
	require.InDelta(t, 1000*was.TotalPower.Or(0), r.TotalPower.Or(0), 1e-6)
}
