package learn

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/probe/learn/image"
	"legwork/probe/reading"
	"legwork/probe/regmap"
	"legwork/sim"
)

type wordBank map[regmap.Table]map[int]uint16

func (b wordBank) SetWords(t regmap.Table, address uint16, words []uint16) {
	if b[t] == nil {
		b[t] = map[int]uint16{}
	}
	for i, w := range words {
		b[t][int(address)+i] = w
	}
}

// imageOf reads a layout in rounds, request by request.
func imageOf(l *sim.Layout, rounds int) (*image.Image, reading.Reading) {
	im := &image.Image{}
	for _, q := range l.Extents() {
		im.Blocks = append(im.Blocks, image.Block{Table: q.Table, At: int(q.Address)})
	}
	at := time.Date(2026, 5, 4, 9, 0, 0, 0, time.UTC)
	var last reading.Reading
	for range rounds {
		bank := wordBank{}
		im.Times = append(im.Times, at)
		for i, q := range l.Extents() {
			words := make([]uint16, q.Count)
			for from := 0; from < len(words); from += l.MostRegisters {
				last = l.At(at)
				l.Registers(&last, bank)
				at = at.Add(40 * time.Millisecond)
				for j := from; j < min(len(words), from+l.MostRegisters); j++ {
					words[j] = bank[q.Table][int(q.Address)+j]
				}
			}
			im.Blocks[i].Rounds = append(im.Blocks[i].Rounds, words)
		}
		at = at.Truncate(time.Second).Add(2 * time.Second)
	}
	return im, last
}

// tally counts what came of layouts.
type tally struct {
	layouts, right, wrong, points, falsePoints int
	longest                                    time.Duration
}

// measure is what a multimeter, a clamp and the display show: off by some parts
// in a hundred.
func measure(r reading.Reading, rng *rand.Rand) []Measured {
	var all []Measured
	for k := range r.Channels {
		for i, q := range []reading.Quantity{reading.Voltage, reading.Current, reading.Power} {
			p := reading.Point{Quantity: q, Index: k + 1}
			error := []float64{0.005, 0.02, 0.02}[i]
			all = append(all, Measured{p, math.Abs(r.Number(p).Or(0)) * (1 + error*rng.NormFloat64())})
		}
	}
	return all
}

// shaken is a reading of the same place that it never had: any load, any sign.
func shaken(r reading.Reading, rng *rand.Rand) reading.Reading {
	s := r.Clone()
	total := 0.
	for k := range s.Channels {
		c := &s.Channels[k]
		v, i := c.Voltage.Or(0)*(0.97+0.06*rng.Float64()), c.Current.Or(0)*(0.3+1.3*rng.Float64())
		c.Voltage, c.Current = reading.Known(v), reading.Known(i)
		p := v * i * (0.3 + 0.7*rng.Float64()) * float64(1-2*rng.IntN(2))
		c.Power = reading.Known(p)
		total += p
	}
	s.TotalPower = reading.Known(total)
	return s
}

// faults compares a learned map with the layout's own, and where that has no such
// point with what is really there, on readings that the place never had.
// Counters don't change between them.
func faults(l *sim.Layout, r *Result, last reading.Reading) map[string]string {
	wrong := map[string]string{}
	m := r.Map()
	if m == nil { // nothing would be written
		return wrong
	}
	rng := rand.New(rand.NewPCG(3, 4))
	truth := l.Map()
	for range 25 {
		r := shaken(last, rng)
		bank := wordBank{}
		l.Registers(&r, bank)
		var is, should reading.Reading
		m.Decode(bank.blocks(l), &is)
		truth.Decode(bank.blocks(l), &should)
		for _, p := range m.Points() {
			switch p.Quantity {
			case reading.TotalEnergyImport, reading.EnergyImport:
				continue
			}
			x, y, step := is.Number(p.Point).Or(-1e9), r.Number(p.Point).Or(-2e9), p.Scale
			if q, ok := find(truth, p.String()); ok { // else of a second copy, or a mean of one
				y, step = should.Number(p.Point).Or(0), step+q.Scale*1.01
			}
			if p.Quantity == reading.PowerFactor { // what its sign tells is another matter
				x, y = math.Abs(x), math.Abs(y)
			}
			if math.Abs(x-y) > 1.01*step+0.003*math.Abs(y) {
				wrong[p.String()] = fmt.Sprintf("reads %g and is %g", x, y)
			}
		}
	}
	return wrong
}

func (b wordBank) blocks(l *sim.Layout) []regmap.Block {
	var all []regmap.Block
	for _, q := range l.Extents() {
		words := make([]uint16, q.Count)
		for i := range words {
			words[i] = b[q.Table][int(q.Address)+i]
		}
		all = append(all, regmap.Block{Request: q, Words: words})
	}
	return all
}

func find(m *regmap.Map, name string) (regmap.Point, bool) {
	for _, p := range m.Points() {
		if p.String() == name {
			return p, true
		}
	}
	return regmap.Point{}, false
}

// helps are what is known beside the registers.
var helps = map[string]func(im *image.Image, now reading.Reading, rng *rand.Rand) []Measured{
	"V, A, kW measured": func(_ *image.Image, now reading.Reading, rng *rand.Rand) []Measured { return measure(now, rng) },
	"one, as asked": func(im *image.Image, now reading.Reading, rng *rand.Rand) []Measured {
		r := Understand(im, nil)
		if r.Settled || r.Ask == nil {
			return nil
		}
		x := math.Abs(now.Number(r.Ask.Point).Or(0)) * (1 + 0.02*rng.NormFloat64())
		return []Measured{{r.Ask.Point, x}}
	},
	"nothing measured": func(*image.Image, reading.Reading, *rand.Rand) []Measured { return nil },
}

// try lets a layout be understood and says what came of it. Right is that voltage,
// current and power of every channel are settled; wrong, that a map is settled of
// which any point reads anything else than the layout's own, or the number of
// channels is another.
func (t *tally) try(seed uint64, help string) string {
	l := sim.NewLayout(seed)
	im, last := imageOf(l, rounds)
	measured := helps[help](im, last, rand.New(rand.NewPCG(seed, 5)))
	begin := time.Now()
	r := Understand(im, measured)
	t.longest = max(t.longest, time.Since(begin))
	t.layouts++
	wrong := faults(l, r, last)
	said, word := "", "open"
	for _, p := range r.Points {
		t.points++
		if why, is := wrong[p.Point.Point.String()]; is {
			t.falsePoints++
			said += fmt.Sprintf("\n      %s %.3f %s", p.line(), p.Probability, why)
		}
	}
	switch {
	case !r.Settled: // nothing is written
	case said != "" || r.Channels != len(last.Channels):
		t.wrong++
		word = "WRONG"
	default:
		t.right++
		word = "right"
	}
	return fmt.Sprintf("seed %d %s %v %s%s", seed, l.Service, l.Made, word, said)
}

const rounds = 6

var (
	layouts = flag.Int("layouts", 4, "how many layouts the bench understands")
	first   = flag.Uint64("first", 20000, "seed of the first of them")
)

// On meters whose registers nobody has written down, half of them wired wrong:
// what is settled is right, and with a voltmeter, a clamp and the display at hand
// nearly all is. So few layouts as are tried here say little; one that is lost
// fails all the same.
//
// With nothing measured there is a limit that no learner passes. Of 20,000 layouts
// 41 % hold floats; the others leave the power of ten open. Who knew as well how
// often each step goes with what the registers hold, counted in these very
// layouts with each left out in turn, would settle 19 % more at 0.5 % wrong.
func TestLayouts(t *testing.T) {
	if racing {
		t.Skip("a table of shares has nothing to race")
	}
	for _, row := range []struct {
		help  string
		of    float64 // share of the layouts that are tried
		least float64 // right
	}{{"V, A, kW measured", 1, 0.9}, {"one, as asked", 0.25, 0.8}, {"nothing measured", 0.25, 0.3}} {
		t.Run(row.help, func(t *testing.T) {
			t.Parallel()
			var c tally
			for i := range int(float64(*layouts) * row.of) {
				if said := c.try(*first+uint64(i), row.help); strings.Contains(said, "WRONG") || testing.Verbose() {
					t.Log(said)
				}
			}
			n := float64(c.layouts)
			share := func(k int) float64 { return 100 * float64(k) / n }
			t.Logf("%d layouts: %.1f %% right, %.1f %% wrong, %.1f %% open; %d points, %d of them wrong; longest %s", c.layouts,
				share(c.right), share(c.wrong), share(c.layouts-c.right-c.wrong), c.points, c.falsePoints,
				c.longest.Round(time.Millisecond))
			require.GreaterOrEqual(t, float64(c.right)/n, row.least)
			require.LessOrEqual(t, float64(c.wrong)/n, 0.02)
		})
	}
}

// Layouts that each were left open, or settled wrongly, for want of one thing.
func TestTrapsOfLayouts(t *testing.T) {
	if racing {
		t.Skip("a table of shares has nothing to race")
	}
	for name, seed := range map[string]uint64{
		"a current alike after the voltages":         50013,
		"apparent power hardly above the active":     50135,
		"floats with empty registers between, twice": 50192,
		"a load is switched that turns the power":    50509,
		"reactive powers and their total, one late":  90036,
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			require.Contains(t, new(tally).try(seed, "V, A, kW measured"), " right")
		})
	}
}
