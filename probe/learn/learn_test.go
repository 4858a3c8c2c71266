package learn

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/probe/learn/image"
	"legwork/probe/reading"
	"legwork/probe/regmap"
)

var update = flag.Bool("update", false, "write the golden files anew")

// kiln is the Tidewater kiln house at second n: three legs at 120 V, CT 2 the
// wrong way round.
func kiln(n int) reading.Reading {
	r := reading.Reading{Channels: make([]reading.Channel, 3)}
	total := 0.
	for k := range r.Channels {
		c := &r.Channels[k]
		wave := math.Sin(float64(7*n + 3*k))
		v := 121.3 + 0.7*float64(k) + 0.21*wave
		i := []float64{87.3, 97.6, 92.05}[k] * (1 + 0.011*math.Sin(float64(5*n+k*k)))
		p := v * i * []float64{0.93, -0.89, 0.91}[k]
		c.Voltage, c.Current, c.Power = reading.Known(v), reading.Known(i), reading.Known(p)
		c.Apparent, c.PowerFactor = reading.Known(v*i), reading.Known(p/v/i)
		c.Reactive = reading.Known(math.Sqrt(v*i*v*i - p*p))
		total += p
	}
	r.TotalPower, r.Frequency = reading.Known(total), reading.Known(59.98+0.01*math.Sin(float64(n)))
	return r
}

// imageBy writes the kiln house into registers as a map has it, five times.
func imageBy(t *testing.T, points string, at, count int) *image.Image {
	m, err := regmap.Parse("truth", []byte("legwork-map: 1\npoints:\n"+points))
	require.NoError(t, err)
	b := image.Block{Table: regmap.Holding, At: at}
	im := &image.Image{}
	for n := range 5 {
		r, bank := kiln(n), wordBank{}
		m.Encode(&r, bank)
		words := make([]uint16, count)
		for i := range words {
			words[i] = bank[regmap.Holding][at+i]
		}
		b.Rounds = append(b.Rounds, words)
		im.Times = append(im.Times, time.Unix(int64(2*n), 0))
	}
	im.Blocks = []image.Block{b}
	return im
}

// inRow writes points of three channels one after another.
func inRow(at, size int, form string, names ...string) string {
	s := ""
	for i, name := range names {
		for k := range 3 {
			s += fmt.Sprintf("  %s.%d: {at: %d, %s}\n", name, k+1, at+(3*i+k)*size, form)
		}
	}
	return s
}

// Floats settle themselves, by what ties them.
func TestFloatsAreSettled(t *testing.T) {
	points := inRow(3000, 2, "type: f32, order: CDAB", "voltage", "current", "power", "apparent", "pf") +
		"  total_power: {at: 3030, type: f32, order: CDAB}\n  frequency: {at: 3032, type: f32, order: CDAB}\n"
	r := Understand(imageBy(t, points, 3000, 40), nil)
	require.True(t, r.Settled)
	require.Equal(t, 3, r.Channels)
	require.Nil(t, r.Ask)
	r.Meter, r.Unit = "Tidewater kiln house", 7
	file := r.File()
	if *update {
		require.NoError(t, os.WriteFile("testdata/kiln.map.yaml", file, 0o644))
	}
	want, err := os.ReadFile("testdata/kiln.map.yaml")
	require.NoError(t, err)
	require.Equal(t, string(want), string(file))
	m := r.Map()
	require.Equal(t, "Tidewater kiln house", m.Meter)
	require.Equal(t, 7, m.Unit)
	require.Len(t, m.Points(), 17)
}

// Of voltages, currents and powers in integers alone the power of ten of
// currents and powers together is open. One clamp settles it.
func TestScaleIsAskedFor(t *testing.T) {
	points := inRow(100, 1, "type: u16, scale: 0.1", "voltage") + inRow(103, 1, "type: u16, scale: 0.01", "current") +
		inRow(106, 1, "type: s16, scale: 1", "power")
	im := imageBy(t, points, 100, 9)
	r := Understand(im, nil)
	require.False(t, r.Settled)
	require.Nil(t, r.Map(), "a map without currents is of no use")
	require.Contains(t, string(r.File()), "#   current.1: {at: 103, type: u16, scale: 0.01}")
	require.Contains(t, []reading.Quantity{reading.Current, reading.Power, reading.TotalPower}, r.Ask.Point.Quantity)
	require.Greater(t, len(r.Ask.Or), 1)

	for _, shown := range []string{"channel 2: 97 A", "channel 1: 9.9 kW", "total: 9.5 kW"} {
		one, err := ParseMeasured(shown)
		require.NoError(t, err)
		r = Understand(im, []Measured{one})
		require.True(t, r.Settled, shown)
		require.Len(t, r.Map().Points(), 9)
		if one.Point.Index > 0 {
			require.Contains(t, string(r.File()), "an instrument shows")
		}
	}
	require.InDelta(t, 0.01, r.Points[3].Scale, 1e-12)
	require.InDelta(t, 1, r.Points[6].Scale, 1e-12)
	require.Equal(t, regmap.S16, r.Points[6].Type, "CT 2 is the wrong way round")
}

// What the display shows of a counter finds its register, with its scale.
func TestCounterOfTheDisplay(t *testing.T) {
	points := inRow(3000, 2, "type: f32, order: CDAB", "voltage", "current", "power", "apparent") +
		"  total_energy_import: {at: 3030, type: u32, order: CDAB, scale: 100}\n"
	im := imageBy(t, points, 3000, 40)
	for _, words := range im.Blocks[0].Rounds {
		words[30], words[31] = 0x4AF1, 0x0012
	}
	shown, err := ParseMeasured("total: 119886.5 kWh")
	require.NoError(t, err)
	r := Understand(im, []Measured{shown})
	last := r.Points[len(r.Points)-1]
	require.Equal(t, "total_energy_import: {at: 3030, type: u32, order: CDAB, scale: 100}", last.line())
}

// A clamp that reads ten times as much makes another map of the same registers.
func TestScaleIsTheInstruments(t *testing.T) {
	points := inRow(100, 1, "type: u16, scale: 0.1", "voltage") + inRow(103, 1, "type: u16, scale: 0.01", "current") +
		inRow(106, 1, "type: s16, scale: 1", "power")
	r := Understand(imageBy(t, points, 100, 9), []Measured{{reading.Point{Quantity: reading.Current, Index: 1}, 873}})
	require.True(t, r.Settled)
	require.InDelta(t, 0.1, r.Points[3].Scale, 1e-12)
	require.InDelta(t, 10, r.Points[6].Scale, 1e-12)
}

func TestNothingIsMadeOfNothing(t *testing.T) {
	for name, im := range map[string]*image.Image{
		"no registers": {},
		"zeros":        {Blocks: []image.Block{{Rounds: [][]uint16{make([]uint16, 200), make([]uint16, 200)}}}},
		"one round":    {Blocks: []image.Block{{Rounds: [][]uint16{{1203, 1201, 1207, 873, 976, 920}}}}},
	} {
		t.Run(name, func(t *testing.T) {
			r := Understand(im, nil)
			require.False(t, r.Settled)
			require.Nil(t, r.Map())
		})
	}
}

// Registers full of anything settle nothing, and break nothing.
func TestNoiseSettlesNothing(t *testing.T) {
	if testing.Short() {
		t.Skip("long, and of one goroutine")
	}
	rng := rand.New(rand.NewPCG(9, 9))
	for range 3 {
		im := &image.Image{Blocks: []image.Block{{At: 7}, {At: 40, Table: regmap.Input}, {At: 500, Table: regmap.Input}}}
		still := rng.IntN(2) == 0
		for b := range im.Blocks[1:] {
			base := make([]uint16, 1+rng.IntN(40))
			for i := range base {
				base[i] = uint16(rng.Uint32() >> (rng.IntN(16)))
			}
			for range 4 {
				words := slices.Clone(base)
				for i := range words {
					if !still {
						words[i] += uint16(rng.IntN(9))
					}
				}
				im.Blocks[1+b].Rounds = append(im.Blocks[1+b].Rounds, words)
			}
		}
		require.False(t, Understand(im, nil).Settled)
		require.False(t, Understand(im, []Measured{{reading.Point{Quantity: reading.Voltage, Index: 2}, 230}}).Settled)
	}
}

func TestMeasuredIsParsed(t *testing.T) {
	for text, want := range map[string]string{
		"channel 1: 121.4 V": "channel 1: 121.4 V",
		"Channel 2:97.6A":    "channel 2: 97.6 A",
		"channel 3: -12 kW":  "channel 3: -12000 W",
		"channel 3: 1.5kvar": "channel 3: 1500 var",
		"channel 3: 12 kVA":  "channel 3: 12000 VA",
		"total: 12 kW":       "total: 12000 W",
		"total: 1,234.5 kWh": "total: 1.2345e+06 Wh",
		"frequency: 60 Hz":   "frequency: 60 Hz",
	} {
		m, err := ParseMeasured(text)
		require.NoError(t, err)
		require.Equal(t, want, m.String())
	}
	for text, want := range map[string]string{
		"121 V": `"121 V" says no value; write it as in "channel 1: 121.4 V", ` +
			`"total: 12 kW" or "frequency: 60 Hz"`,
		"channel 4: 1 V": `"channel 4: 1 V": channels are 1 to 3, not "4"`,
		"leg 1: 120 V":   `"leg 1: 120 V": "leg 1" is not measured here; write "channel N", "total" or "frequency"`,
		"channel 1: 120": `"channel 1: 120": give the unit, one of V, A, W, var, VA, Wh, ` +
			`with k or M before it where needed`,
		"total: 3 A":         `"total: 3 A": give the unit, one of W, Wh, with k or M before it where needed`,
		"channel 1: x V":     `"channel 1: x V": " x V" is not a value in V, such as 12.3 V`,
		"frequency: 60 kVAh": `"frequency: 60 kVAh": give the unit, one of Hz, with k or M before it where needed`,
	} {
		_, err := ParseMeasured(text)
		require.EqualError(t, err, want)
	}
}
