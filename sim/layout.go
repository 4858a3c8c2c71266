package sim

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
	"time"

	"legwork/probe/reading"
	"legwork/probe/regmap"
)

// Layout is a meter whose registers nobody has written down, at a place of its
// own: what stands where, in what type, order and scale, what else stands
// between, and how the place is wired follow from a seed. It is the bench for
// learning a map. Its methods may be called from several goroutines.
type Layout struct {
	Service       string
	Made          []string // the mistakes that were made at the place, by name
	MostRegisters int      // in one request; more get exception 3

	mu     sync.Mutex
	site   *Site
	where  *Place // where the readings come from; nil is the site
	rng    *rand.Rand
	blocks []layoutBlock
	volts  [3]complex128 // of the supply before it wanders
	sizes  []float64
	stir   float64 // how lively the place is
	begin  time.Time
	at     time.Time
	scene  scene
}

// layoutBlock is a run of registers that can be read.
type layoutBlock struct {
	regmap.Request
	cells []cell
	fill  []uint16 // what stands where no cell does
}

// NewLayout makes the layout of a seed. One place in two is wired wrong.
func NewLayout(seed uint64) *Layout {
	l := &Layout{rng: rand.New(rand.NewPCG(seed, 11))}
	l.scene.ripple = l.rng.NormFloat64
	l.openPlace()
	l.plan()
	return l
}

// openPlace draws the service, the loads and what is wired wrong.
func (l *Layout) openPlace() {
	services := []string{"120/208Y", "120/208Y", "120/208Y", "277/480Y", "277/480Y", "347/600Y", "230/400Y", "230/400Y",
		"120/240", "120/240", "120/208N", "120", "230", "240D", "480D", "600D", "120/240D"}
	l.Service = services[l.rng.IntN(len(services))]
	mixes := []func() Mix{MixedLoads, MixedLoads, MixedLoads, MixedLoads, MotorLoads, MotorLoads, HeatLoads, LightLoads,
		Generating}
	mix := mixes[l.rng.IntN(len(mixes))]()
	if mix.Amps == 0 {
		mix.Amps = math.Exp(math.Log(15) + l.rng.Float64()*math.Log(40)) // 15 to 600 A
	}
	site, err := RandomSite(l.rng, l.Service, mix)
	if err == nil {
		err = site.Mistake(0.45)
	}
	if k := 1 + l.rng.IntN(site.Panel.Supply.Service.Channels()); err == nil && l.rng.Float64() < 0.08 {
		rare := [...]string{"ct%d-open", "ct%d-half-ratio", "ct%d-double-ratio", "v%d-dead", "v%d-low"}
		err = site.Make(fmt.Sprintf(rare[l.rng.IntN(len(rare))], k))
	}
	if err != nil {
		panic(err) // the lists above are wrong
	}
	l.site, l.Made = site, site.Made
	l.volts = site.Panel.Supply.Volts
	for _, load := range site.Panel.Loads {
		l.sizes = append(l.sizes, load.VA)
	}
	l.stir = math.Exp(math.Log(0.15) + l.rng.Float64()*math.Log(8))
	m := l.site.Meter
	m.Steps = l.rng.Float64() < 0.3
	m.RootReactive = l.rng.Float64() < 0.3
	m.PowerFactorLags = l.rng.Float64() < 0.1
	m.NeutralCT = l.rng.Float64() < 0.3
}

// wander lets voltages and loads stray round what they were, and now and then
// switches a load.
func (l *Layout) wander() {
	if l.where != nil {
		return // it has its own course
	}
	u := l.site.Panel.Supply
	all := 0.002 * l.rng.NormFloat64()
	for i := range u.Volts {
		u.Volts[i] = l.volts[i] * complex(1+l.stir*(all+0.0007*l.rng.NormFloat64()), 0)
	}
	for i := range l.site.Panel.Loads {
		load := &l.site.Panel.Loads[i]
		load.VA = l.sizes[i] * math.Exp(0.015*l.stir*l.rng.NormFloat64())
	}
	if l.rng.Float64() < 0.03*l.stir {
		l.site.Step()
	}
}

// At brings the place to a time and takes a reading there, which the registers
// show until the next one. A time before the last gives the last reading.
func (l *Layout) At(t time.Time) reading.Reading {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.read(t)
}

func (l *Layout) read(t time.Time) reading.Reading {
	if l.begin.IsZero() {
		l.begin, l.at = t, t
		l.show(t, l.take(t))
		for k := range l.scene.demand {
			l.scene.demand[k] = ofChannel(reading.Power, k+1)(&l.scene) * (0.75 + 0.4*l.rng.Float64())
		}
	}
	d := t.Sub(l.at).Seconds()
	if d < 0 {
		return l.scene.reading.Clone()
	}
	for k := range l.scene.joules {
		watts := ofChannel(reading.Power, k+1)(&l.scene)
		l.scene.joules[k] += max(watts, 0) * d
		l.scene.returned[k] += max(-watts, 0) * d
	}
	for range min(10, int(t.Sub(l.begin).Seconds())-int(l.at.Sub(l.begin).Seconds())) {
		l.wander()
	}
	l.at = t
	l.show(t, l.take(t))
	return l.scene.reading.Clone()
}

func (l *Layout) show(t time.Time, r reading.Reading) {
	r.At = t
	r.Frequency = reading.Known(r.Frequency.Or(60) + 0.012*l.rng.NormFloat64())
	l.scene.reading, l.scene.at, l.scene.seconds = r, t, t.Sub(l.begin).Seconds()
}

// Fill brings the place to a time and writes all registers.
func (l *Layout) Fill(t time.Time, bank regmap.Bank) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.read(t)
	l.write(&l.scene, bank)
}

// Registers writes the registers as they are when the meter reads r: what has
// no part in a reading, such as demand, keeps its last value.
func (l *Layout) Registers(r *reading.Reading, bank regmap.Bank) {
	l.mu.Lock()
	defer l.mu.Unlock()
	s := l.scene
	s.reading = *r
	l.write(&s, bank)
}

func (l *Layout) write(s *scene, bank regmap.Bank) {
	for i := range l.blocks {
		b := &l.blocks[i]
		words := slices.Clone(b.fill)
		for j := range b.cells {
			c := &b.cells[j]
			copy(words[c.at:], c.words(c.value(s)))
		}
		bank.SetWords(b.Table, b.Address, words)
	}
}

// Extents lists the registers that can be read; a request that touches another
// gets exception 2.
func (l *Layout) Extents() []regmap.Request {
	var all []regmap.Request
	for i := range l.blocks {
		all = append(all, l.blocks[i].Request)
	}
	return all
}

// Map is what a person would have written down of the layout.
func (l *Layout) Map() *regmap.Map {
	var b strings.Builder
	b.WriteString("legwork-map: 1\npoints:\n")
	for i := range l.blocks {
		block := &l.blocks[i]
		for _, c := range block.cells {
			if c.point.Quantity == 0 || c.point.Channel() > l.site.Panel.Supply.Service.Channels() {
				continue
			}
			fmt.Fprintf(&b, "  %s: {at: %d, type: %s, order: %s, scale: %g, table: %s}\n",
				c.point, int(block.Address)+c.at, c.kind, c.order, c.step, block.Table)
		}
	}
	m, err := regmap.Parse("layout", []byte(b.String()))
	if err != nil {
		panic(err) // the layout names a point twice, or overlaps
	}
	return m
}
