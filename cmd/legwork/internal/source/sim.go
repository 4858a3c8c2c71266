package source

import (
	"context"
	"fmt"
	"time"

	"legwork/probe/regmap"
	"legwork/sim"
	"legwork/sim/serve"
)

// Served is a place of the simulator behind a Modbus server.
type Served struct {
	Place  *sim.Place
	Map    *regmap.Map
	Server *serve.Server
	Host   string // host:port
	Unit   int
}

// ServePlace serves a place on an address such as "127.0.0.1:0". Its meter's
// registers follow the clock.
func ServePlace(name, address string, o sim.Options) (*Served, error) {
	p, err := sim.Open(name, o)
	if err != nil {
		return nil, err
	}
	m, err := regmap.Parse(p.Map())
	if err != nil {
		return nil, err
	}
	bank := serve.NewBank()
	fill := func() {
		r := p.At(time.Now())
		bank.Update(func(w serve.Writer) { m.Encode(&r, w) })
	}
	fill()
	unit := max(m.Unit, 1)
	s := serve.New(map[byte]*serve.Unit{byte(unit): {Bank: bank, Before: fill, Identity: []string{"legwork", m.Meter, "simulated"}}})
	at, err := s.ListenTCP(address)
	if err != nil {
		return nil, fmt.Errorf("--listen %s: %w; is the port taken, or the address not one of this machine?", address, err)
	}
	return &Served{p, m, s, at.String(), unit}, nil
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
	served, err := ServePlace(a.Name, "127.0.0.1:0", so)
	if err != nil {
		return nil, err
	}
	if o.Service == "" {
		o.Service = served.Place.Service()
	}
	a.Host, a.Unit = served.Host, served.Unit
	m, err := connect(ctx, a, served.Map, o)
	if err != nil {
		_ = served.Server.Close()
		return nil, err
	}
	m.closers = append(m.closers, served.Server.Close)
	return m, nil
}
