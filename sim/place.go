package sim

import (
	"math/rand/v2"
	"sync"
	"time"

	"legwork/probe/reading"
	"legwork/probe/regmap"
)

// Options says how a place is opened.
type Options struct {
	Fault string // mistakes, a comma list as ParseMistakes takes it
	// Seed varies the loads' sizes and times and the meter's errors; 0 has the
	// sizes and times as the file gives them.
	Seed uint64
	// Start is when the scenario begins; the zero time has it begin with the
	// first time that is handed in.
	Start time.Time
}

// Place is a scenario that runs by the times that are handed in. Its methods
// may be called from several goroutines.
type Place struct {
	name     string
	scenario *Scenario
	registry *regmap.Map
	source   []byte // of the map
	options  Options

	mu     sync.Mutex
	panel  Panel
	sizes  []float64 // VA of each load before it wanders
	meter  *Meter
	wiring Wiring
	start  time.Time
	at     time.Time
	energy [3]channelEnergy
	broken []bool // loads whose breaker is open; nil for none
	// switched are the loads that were switched by hand, by leg, in order of time.
	switched map[int][]switching
}

// newPlace sets a scenario up. The error is a fault that the service can't have.
func newPlace(name string, c *Scenario, o Options) (*Place, error) {
	p := &Place{name: name, scenario: c, options: o, start: o.Start, at: o.Start}
	u := NewSupply(c.Service, c.Sequence)
	u.MoveHighLeg(c.HighLeg)
	p.panel = Panel{Supply: u, Loads: append([]Load(nil), c.Loads...)}
	for i, l := range c.Loads {
		p.sizes = append(p.sizes, l.VA)
		if o.Seed != 0 {
			p.sizes[i] *= 0.9 + 0.2*p.dice(i).roll(-3)
		}
	}
	var err error
	if p.meter, err = NewMeter(rand.New(rand.NewPCG(o.Seed, 1)), c.Meter); err != nil {
		return nil, err
	}
	return p, p.SetFault(o.Fault)
}

// dice of a load, counted from 0; of the legs' voltages from -3 to -1.
func (p *Place) dice(i int) dice { return dice{p.options.Seed, uint64(100 + i)} }

// Service is the name of the place's service.
func (p *Place) Service() string { return p.scenario.Service.Name }

// Title is what people call the place.
func (p *Place) Title() string { return p.scenario.Title }

// Map is the register map of the place's meter: a file's name and its text.
func (p *Place) Map() (file string, src []byte) { return mapFile(p.name), p.source }

// SetFault wires the place anew: right, but for the mistakes of a comma list.
// The error says what is wrong with the list; then the wiring stays.
func (p *Place) SetFault(list string) error {
	mistakes, err := ParseMistakes(p.Service(), list)
	if err != nil {
		return err
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.wiring = RightWiring(p.panel.Supply)
	for _, m := range mistakes {
		m.Apply(&p.wiring)
	}
	return nil
}

// Advance brings the place to a time; energies accumulate on the way. A time
// before the last one leaves it where it is.
func (p *Place) Advance(t time.Time) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.advance(t)
}

// At advances the place and takes the meter's reading there. The same time
// gives the same noise.
func (p *Place) At(t time.Time) reading.Reading {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.advance(t)
	f := p.averaged()
	rng := rand.New(rand.NewPCG(p.options.Seed, uint64(p.at.UnixNano())))
	now := p.wiring.at(p.seconds())
	r := p.meter.Read(&f, &now, rng)
	r.At, r.Service = t, p.Service()
	p.enter(&r)
	return r
}

// Fill advances the place and writes the meter's reading into registers as the
// place's map has it.
func (p *Place) Fill(t time.Time, bank regmap.Bank) {
	r := p.At(t)
	p.registry.Encode(&r, bank)
}

// Truth says what is wired where, and what flows at the last time handed in.
func (p *Place) Truth() Truth {
	p.mu.Lock()
	defer p.mu.Unlock()
	f := p.flow(p.seconds())
	now := p.wiring.at(p.seconds())
	return truthOf(p.panel.Supply, &now, &f)
}
