package source

import (
	"context"
	"fmt"
	"sync"
	"time"

	"legwork/probe/link"
	"legwork/probe/regmap"
	"legwork/sim"
	"legwork/sim/serve"
)

// Served is a meter of the simulator behind a Modbus server.
type Served struct {
	Place  *sim.Place  // nil where it follows from a layout's seed
	Layout *sim.Layout // of registers that nobody has written down; else nil, and there is a Map
	Map    *regmap.Map
	Server *serve.Server
	Meter  *serve.Unit // the one that it serves
	Unit   int
}

// ServePlace sets a place up behind a server that listens to nothing yet. Its
// meter's registers follow the clock. Beside those of the place's own map there
// are the SunSpec model that is asked for; 0 is none.
func ServePlace(name string, o sim.Options, sunspec int) (*Served, error) {
	p, err := sim.Open(name, o)
	if err != nil {
		return nil, err
	}
	m, err := regmap.Parse(p.Map())
	if err != nil {
		return nil, err
	}
	bank := serve.NewBank()
	maps := []*regmap.Map{m}
	if sunspec != 0 {
		image, err := sunspecImage(bank, sunspec)
		if err != nil {
			return nil, err
		}
		maps = append(maps, image)
	}
	fill := func() {
		r := p.At(time.Now())
		bank.Update(func(w serve.Writer) {
			for _, m := range maps {
				m.Encode(&r, w)
			}
		})
	}
	fill()
	unit := max(m.Unit, 1)
	meter := &serve.Unit{Bank: bank, Before: fill, Identity: []string{"legwork", m.Meter, "simulated"}}
	return &Served{Place: p, Map: m, Server: serve.New(map[byte]*serve.Unit{byte(unit): meter}), Meter: meter, Unit: unit}, nil
}

// ServeLayout sets a meter up whose registers nobody has written down, at a place,
// or without a name at one that follows from the seed as the layout does.
// Registers that it doesn't have are refused wherever they stand.
func ServeLayout(name string, o sim.Options, seed uint64) (*Served, error) {
	s := &Served{Unit: 1}
	if name == "" {
		s.Layout = sim.NewLayout(seed)
	} else {
		p, err := sim.Open(name, o)
		if err != nil {
			return nil, err
		}
		s.Place, s.Layout = p, sim.LayoutOf(p, seed)
	}
	var mu sync.Mutex
	var shown time.Time
	s.Meter = &serve.Unit{Bank: serve.NewBank(), Strict: true, MostRegisters: s.Layout.MostRegisters, Before: func() {
		mu.Lock()
		defer mu.Unlock()
		if now := time.Now(); now.Sub(shown) >= refreshed {
			shown = now
			s.Meter.Bank.Update(func(w serve.Writer) { s.Layout.Fill(now, w) })
		}
	}}
	s.Server = serve.New(map[byte]*serve.Unit{1: s.Meter})
	return s, nil
}

// refreshed is how often a meter measures anew. Common practice, no source.
const refreshed = 500 * time.Millisecond

// sunspecImage writes an empty SunSpec device and gives the map that fills it.
func sunspecImage(bank *serve.Bank, id int) (*regmap.Map, error) {
	if id < 201 || id > 214 || id > 204 && id < 211 {
		return nil, fmt.Errorf("--sunspec %d: meters are models 201 to 204 and 211 to 214", id)
	}
	at, words, models := regmap.SunSpecImage(id)
	bank.Update(func(w serve.Writer) { w.SetWords(regmap.Holding, at, words) })
	return regmap.SunSpecMap(models)
}

// openSim serves a place on loopback and reads it as any other meter.
func openSim(ctx context.Context, a Address, o Options) (Source, error) {
	if o.Map != "" {
		return nil, fmt.Errorf("%s brings its own register map; leave --map out", a.Text)
	}
	so := sim.Options{Fault: a.Fault, Seed: a.Seed}
	if o.Fault != "" {
		so.Fault = o.Fault
	}
	if o.SeedSet {
		so.Seed = o.Seed
	}
	served, err := ServePlace(a.Name, so, 0)
	if err != nil {
		return nil, err
	}
	at, err := served.Server.ListenTCP("127.0.0.1:0")
	if err != nil {
		return nil, err
	}
	if o.Service == "" {
		o.Service = served.Place.Service()
	}
	a.Host, a.Unit = at.String(), served.Unit
	l, err := reached(link.DialTCP(ctx, a.Host, link.Options{Timeout: o.Timeout, Retries: o.Retries}))
	if err != nil {
		_ = served.Server.Close()
		return nil, err
	}
	m := newMeter(l, a, served.Map, o)
	m.closers = append(m.closers, served.Server.Close)
	return m, nil
}
