package fleet

import (
	"fmt"
	"net"
	"sync"
	"time"

	"legwork/probe/reading"
	"legwork/probe/regmap"
	"legwork/sim"
	"legwork/sim/serve"
)

// Meter is one meter that is served.
type Meter struct {
	Name, Under, Building string
	METER                 string // that reads it
	Map                   string // file name of its register map
	Place                 *sim.Place
	Fault                 string
	Manner                Manner
	Silent                bool
}

// Fleet is what is served until Close.
type Fleet struct {
	Meters  []*Meter
	Maps    map[string][]byte // by file name
	Servers []*serve.Server   // by wire
}

// slowness of a slow gateway. Our choice.
const slowness = 40 * time.Millisecond

// fresh is how long a meter's registers stay before they are filled anew.
const fresh = 200 * time.Millisecond

// Serve sets the yard up and listens.
func Serve(o Options) (*Fleet, error) {
	f := &Fleet{Maps: map[string][]byte{}}
	kinds := map[string]*kind{}
	for i, g := range plans(o) {
		k := kinds[g.place]
		if k == nil {
			var err error
			if k, err = openKind(g.place); err != nil {
				return nil, err
			}
			kinds[g.place] = k
			f.Maps[k.file] = k.source
		}
		if err := f.add(&g, k, i); err != nil {
			_ = f.Close()
			return nil, err
		}
	}
	return f, nil
}

// kind is a place's files, read once.
type kind struct {
	first    *sim.Place
	registry *regmap.Map
	file     string
	source   []byte
}

func openKind(place string) (*kind, error) {
	p, err := sim.Open(place, sim.Options{})
	if err != nil {
		return nil, err
	}
	file, src := p.Map()
	m, err := regmap.Parse(file, src)
	return &kind{p, m, file, src}, err
}

// add serves one gateway.
func (f *Fleet) add(g *gateway, k *kind, wire int) error {
	units := map[byte]*serve.Unit{}
	var suites []*sim.Place
	from := len(f.Meters)
	for i, p := range g.meters {
		place, err := k.first.Another(sim.Options{Fault: p.fault, Seed: p.seed})
		if err != nil {
			return err
		}
		m := &Meter{Name: p.name, Under: p.under, Building: g.building, Map: k.file, Place: place, Fault: p.fault,
			Manner: g.manner, Silent: p.silent || g.manner == Mute}
		f.Meters = append(f.Meters, m)
		if i > 0 {
			suites = append(suites, place)
		}
		if !m.Silent {
			units[byte(i+1)] = filled(k.registry, place.At)
		}
	}
	if len(suites) > 0 && g.manner != Mute {
		units[1] = filled(k.registry, func(now time.Time) reading.Reading { return sumOf(suites, now) })
	}
	s := serve.New(units)
	f.Servers = append(f.Servers, s)
	at, scheme, err := listen(s, g.manner)
	if err != nil {
		return fmt.Errorf("wire %d: %w; are there so many ports and files?", wire+1, err)
	}
	for i, m := range f.Meters[from:] {
		m.METER = fmt.Sprintf("%s://%s/%d", scheme, at, i+1)
	}
	return nil
}

func listen(s *serve.Server, m Manner) (net.Addr, string, error) {
	switch m {
	case Single:
		s.OneClient()
	case Slow:
		s.Delay(slowness)
	case Serial:
		at, err := s.ListenRTU("127.0.0.1:0", serve.Line{Turnaround: 5 * time.Millisecond})
		return at, "rtu+tcp", err
	}
	at, err := s.ListenTCP("127.0.0.1:0")
	return at, "tcp", err
}

// filled is a unit whose registers follow the clock.
func filled(m *regmap.Map, read func(time.Time) reading.Reading) *serve.Unit {
	bank := serve.NewBank()
	var mu sync.Mutex
	var last time.Time
	return &serve.Unit{Bank: bank, Before: func() {
		mu.Lock()
		defer mu.Unlock()
		now := time.Now()
		if now.Sub(last) < fresh {
			return
		}
		last = now
		r := read(now)
		bank.Update(func(w serve.Writer) { m.Encode(&r, w) })
	}}
}

// Close ends all servers.
func (f *Fleet) Close() error {
	var all sync.WaitGroup
	for _, s := range f.Servers {
		all.Go(func() { _ = s.Close() })
	}
	all.Wait()
	return nil
}

// Find gives the meter of a name, or nil.
func (f *Fleet) Find(name string) *Meter {
	for _, m := range f.Meters {
		if m.Name == name {
			return m
		}
	}
	return nil
}
