package learn

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"strings"
	"sync"
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

// faults compares a learned map with the layout's own on readings that the
// place never had. They are points of voltage, current and power.
func faults(l *sim.Layout, m *regmap.Map, last reading.Reading) map[string]string {
	wrong := map[string]string{}
	if m == nil {
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
			x, y := is.Number(p.Point).Or(-1e9), should.Number(p.Point).Or(0)
			if _, is := find(truth, p.String()); !is && (p.Channel() == 0 || p.Channel() <= len(last.Channels)) {
				continue // of a second copy
			}
			step := p.Scale
			if q, ok := find(truth, p.String()); ok {
				step += q.Scale * 1.01
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

// add counts one layout more.
func (t *tally) add(o tally) {
	t.layouts += o.layouts
	t.right += o.right
	t.wrong += o.wrong
	t.points += o.points
	t.falsePoints += o.falsePoints
	t.longest = max(t.longest, o.longest)
}

// given says what of a place the learner is told.
type given int

const (
	nothing  given = iota
	asked          // what it asks for, mostAsked times at most
	measured       // voltage, current and power of every channel
)

const mostAsked = 3

// understand tells a learner what is given.
func understand(im *image.Image, last reading.Reading, seed uint64, g given) *Result {
	all := measure(last, rand.New(rand.NewPCG(seed, 5)))
	if g == measured {
		return Understand(im, all)
	}
	r := Understand(im, nil)
	var told []Measured
	for range int(g) * mostAsked {
		if r.Settled || r.Ask == nil {
			break
		}
		i := slices.IndexFunc(all, func(m Measured) bool { return m.Point == r.Ask.Point })
		if i < 0 {
			total := math.Abs(last.Number(r.Ask.Point).Or(0)) // of the display
			all = append(all, Measured{r.Ask.Point, total})
			i = len(all) - 1
		}
		told = append(told, all[i])
		r = Understand(im, told)
	}
	return r
}

// try lets a layout be understood and says what is wrong with what came of it.
func (t *tally) try(seed uint64, g given) string {
	l := sim.NewLayout(seed)
	im, last := imageOf(l, rounds)
	begin := time.Now()
	r := understand(im, last, seed, g)
	t.longest = max(t.longest, time.Since(begin))
	t.layouts++
	wrong := faults(l, r.Map(), last)
	said := ""
	major := r.Settled && r.Channels != len(last.Channels)
	for _, p := range r.Points {
		t.points++
		if why, is := wrong[p.Point.Point.String()]; is {
			t.falsePoints++
			said += fmt.Sprintf("\n      %s %.3f %s", p.line(), p.Probability, why)
			major = major || r.Settled && p.Quantity <= reading.Power
		}
	}
	word := "right"
	switch {
	case major:
		t.wrong++
		word = "WRONG"
	case r.Settled:
		t.right++
	default:
		word = "open"
	}
	return fmt.Sprintf("seed %d %s %v %s%s", seed, l.Service, l.Made, word, said)
}

const rounds = 6

// bench tries the layouts on all processors, and tells of them in their order.
func bench(g given, tell func(string)) tally {
	counts, said := make([]tally, *layouts), make([]string, *layouts)
	var wait sync.WaitGroup
	next := make(chan int)
	for range runtime.GOMAXPROCS(0) {
		wait.Go(func() {
			for i := range next {
				said[i] = counts[i].try(*first+uint64(i), g)
			}
		})
	}
	for i := range *layouts {
		next <- i
	}
	close(next)
	wait.Wait()
	var all tally
	for i := range counts {
		tell(said[i])
		all.add(counts[i])
	}
	return all
}

var (
	layouts = flag.Int("layouts", 12, "how many layouts the bench understands")
	first   = flag.Uint64("first", 20000, "seed of the first of them")
)

// On meters whose registers nobody has written down, half of them wired wrong:
// what is settled is right, and with a voltmeter, a clamp and the display at
// hand most is settled. A layout is right where voltage, current and power of
// every channel are read as its own map reads them, whatever the load.
func TestLayouts(t *testing.T) {
	if testing.Short() {
		t.Skip("a table of shares has nothing to race")
	}
	t.Log("                 layouts  right  wrong  open   points  of them wrong   longest")
	for _, row := range []struct {
		name  string
		given given
		least float64 // right
		most  float64 // wrong
	}{{"V, A, kW measured", measured, 0.87, 0.03}, {"what is asked for", asked, 0.8, 0.03}, {"nothing measured", nothing, 0.25, 0.03}} {
		c := bench(row.given, func(said string) {
			if strings.Contains(said, "WRONG") || testing.Verbose() {
				t.Log(said)
			}
		})
		n := float64(c.layouts)
		share := func(k int) float64 { return 100 * float64(k) / n }
		t.Logf("%-18s %5d  %4.1f %%  %3.1f %%  %4.1f %%  %4d  %6d  %12s", row.name, c.layouts, share(c.right), share(c.wrong),
			share(c.layouts-c.right-c.wrong), c.points, c.falsePoints, c.longest.Round(time.Millisecond))
		require.GreaterOrEqual(t, float64(c.right)/n, row.least, row.name)
		require.LessOrEqual(t, float64(c.wrong)/n, row.most, row.name)
		require.LessOrEqual(t, float64(c.falsePoints)/float64(c.points), 0.01, row.name)
	}
}

// Layouts that were once settled and wrong, or, where everything is measured, not settled.
func TestLayoutsThatMisled(t *testing.T) {
	if testing.Short() {
		t.Skip("a table of verdicts has nothing to race")
	}
	for _, row := range []struct {
		seed    uint64
		given   given
		settled bool // and right; else it may be open
		why     string
	}{
		{98020, measured, false, "a copy whose currents have the same high halves, so both orders read alike"},
		{98038, measured, false, "32-bit currents with nothing in the high half, in a record for each channel"},
		{110275, measured, false, "currents that stand still"},
		{110464, measured, false, "a nominal voltage among the settings"},
		{110482, measured, false, "a dead voltage input whose channel carries nothing"},
		{1300056, measured, false, "a power just below 65,536"},
		{900058, asked, false, "a copy of a single channel"},
		{900119, asked, false, "the highest current taken for the current"},
		{1700029, nothing, false, "a low voltage of a single channel taken for its current"},
		{1700029, asked, false, "the same"},
		{1400022, asked, false, "a frequency of 60.00 Hz taken for a voltage of 600.0 V"},
		{1800114, asked, false, "a channel with a low voltage and little power beside one with a full one"},
		{1900079, measured, false, "a current that fills most of 16 bits, and has 32"},
		{2300020, measured, false, "whole volts in 16 bits with gaps, taken for 32 bits"},
		{2300017, measured, true, "a channel without current, whose voltage is measured"},
		{2300076, measured, true, "whole volts of two channels before their mean"},
		{2200151, measured, true, "16 bits with spare zeros, which only a reactive power below zero tells from 32"},
		{900044, measured, true, "voltages in whole volts after another such"},
		{1800049, measured, true, "a copy whose lengths can't be told, and one whose can"},
		{1800447, measured, true, "a current that is its own mean, the one of them surely short"},
		{1800276, measured, true, "a dead input, whose power of nothing could stand anywhere"},
		{1800314, measured, true, "nearly all power active: only that none is beyond S tells them apart"},
		{1800370, measured, true, "whole volts before their mean"},
		{900047, measured, true, "high halves that follow the signs of powers"},
		{900118, measured, true, "a small power in the order of bytes of the current"},
		{1100098, measured, true, "totals that looked like another channel"},
	} {
		var c tally
		said := c.try(row.seed, row.given)
		require.Zero(t, c.wrong, "%s: %s", row.why, said)
		if row.settled {
			require.Equal(t, 1, c.right, "%s: %s", row.why, said)
		}
	}
}
