package round

import (
	"cmp"
	"context"
	"errors"
	"io"
	"time"

	"legwork/cmd/legwork/internal/sites"
	"legwork/cmd/legwork/internal/source"
	"legwork/probe/link"
	"legwork/probe/reading"
	"legwork/probe/regmap"
)

// Options say how patient a wire is.
type Options struct {
	Timeout time.Duration // for one answer; 0 is 1 s
	Retries int
	Maps    map[string]*regmap.Map // by file, as sites.Load has them
	// Told is told the METER in full of each that is listed in short; may be nil.
	Told func(name, meter string)
}

// Wire asks its meters. It is for one goroutine.
type Wire struct {
	options Options
	conns   map[string]*conn  // by the connection's own address
	meters  map[string]*meter // by name
	silent  int               // meters that were silent since the last answer on this wire
	ever    bool              // something has answered
}

// New makes a wire that is connected to nothing yet.
func New(o Options) *Wire {
	return &Wire{options: o, conns: map[string]*conn{}, meters: map[string]*meter{}}
}

// mostSilent is after how many silent meters in a row, with no answer ever, a
// wire counts as dead. Our choice.
const mostSilent = 4

// Dead reports that all that was asked so far was silent, and enough was.
func (w *Wire) Dead() bool { return !w.ever && w.silent >= mostSilent }

// Begin begins a round: what couldn't be connected to is tried anew.
func (w *Wire) Begin() {
	for _, c := range w.conns {
		c.begin()
	}
	w.silent = 0
}

// Read takes a reading of a meter. A capture gives its next one, and io.EOF
// after the last. Other errors are source.Unread, or of a file.
func (w *Wire) Read(ctx context.Context, s *sites.Site) (reading.Reading, error) {
	m := w.meters[s.Name]
	if m == nil || m.site != s {
		m.close()
		m = &meter{site: s}
		w.meters[s.Name] = m
	}
	r, err := w.ask(ctx, m)
	switch {
	case err == nil, errors.Is(err, io.EOF):
		w.silent, w.ever = 0, true
	case errors.As(err, new(link.NoAnswer)):
		w.silent++
	}
	return r, err
}

func (w *Wire) ask(ctx context.Context, m *meter) (reading.Reading, error) {
	if m.source == nil {
		if err := w.open(ctx, m); err != nil {
			return reading.Reading{}, err
		}
	}
	m.tries++
	r, err := m.source.Next(ctx)
	if err != nil && m.shared && !m.answered {
		m.source = nil // it may have to be looked at otherwise next time
	}
	m.answered = m.answered || err == nil
	r.Service = cmp.Or(r.Service, m.site.Service)
	return r, err
}

// open makes the source of a meter.
func (w *Wire) open(ctx context.Context, m *meter) (err error) {
	o := source.Options{Map: m.site.Map, Service: m.site.Service, Timeout: w.options.Timeout, Retries: w.options.Retries}
	if err := w.complete(ctx, m, o); err != nil {
		return err
	}
	if m.site.Map == "" && m.site.Meter.Short() {
		o.Map = source.SunSpecMap
	}
	switch m.address.Kind {
	case source.TCP, source.TLS, source.RTU, source.RTUOverTCP:
	default:
		m.source, err = source.Open(ctx, m.address, o)
		return err
	}
	key := sites.WireOf(m.address)
	c := w.conns[key]
	if c == nil {
		c = &conn{dial: func(ctx context.Context) (link.Counted, error) { return source.DialShared(ctx, m.address, o) }}
		w.conns[key] = c
	}
	m.shared = true
	mute := !w.ever && w.silent > 0 // one silent meter was looked into: the wire may be dead
	m.source, err = source.On(ctx, c, m.address, source.Shared{Options: o, Map: w.options.Maps[m.site.Map],
		Brief: mute || m.tries%10 != 0})
	return err
}

// complete finds out, once, what a METER in short leaves out. It is alone on its
// wire, so the search disturbs no other meter.
func (w *Wire) complete(ctx context.Context, m *meter, o source.Options) (err error) {
	if m.address.Kind != 0 {
		return nil
	}
	a, err := source.Complete(ctx, m.site.Meter, o)
	if err != nil {
		return err
	}
	if m.address = a; m.site.Meter.Short() && w.options.Told != nil {
		w.options.Told(m.site.Name, a.Text)
	}
	return nil
}

// Close ends all connections.
func (w *Wire) Close() {
	for _, m := range w.meters {
		m.close()
	}
	for _, c := range w.conns {
		_ = c.Close()
	}
}

// meter is one meter of the wire.
type meter struct {
	site     *sites.Site
	address  source.Address // the site's, with what it left out; its Kind is 0 until that is known
	source   source.Source
	shared   bool // over a connection of the wire
	answered bool
	tries    int
}

func (m *meter) close() {
	if m != nil && m.source != nil && !m.shared {
		_ = m.source.Close()
	}
}
