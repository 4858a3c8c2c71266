package probe

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"legwork/probe/link"
	"legwork/probe/reading"
	"legwork/probe/regmap"
)

// Meter reads one meter through a link, as a map says. It is for one goroutine
// at a time; several meters may share a link.
type Meter struct {
	conn    link.Conn
	m       *regmap.Map
	unit    byte
	now     func() time.Time
	service string

	limits   regmap.Limits
	plan     []regmap.Request
	channels int
	blocks   []regmap.Block
}

// MeterOptions set how a meter is read. The zero value is useful.
type MeterOptions struct {
	Unit    int              // unit identifier, to 255; 0 takes the map's, or 1
	Limits  regmap.Limits    // what the meter can take
	Service string           // noted on every reading
	Now     func() time.Time // nil is time.Now
}

// NewMeter makes a meter of a connection and a map; Close stays with whoever
// made the connection.
func NewMeter(c link.Conn, m *regmap.Map, o MeterOptions) *Meter {
	unit := o.Unit
	if unit == 0 {
		unit = m.Unit
	}
	if unit == 0 {
		unit = 1
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	return &Meter{conn: c, m: m, unit: byte(unit), now: o.Now, service: o.Service,
		limits: o.Limits, plan: m.Plan(o.Limits), channels: m.Channels()}
}

// Plan is the requests that one reading takes now.
func (p *Meter) Plan() []regmap.Request { return slices.Clone(p.plan) }

// Blocks is what the registers held at the last Read, as far as it came; the
// next one writes over it.
func (p *Meter) Blocks() []regmap.Block { return p.blocks }

// Unit is the unit identifier that is asked.
func (p *Meter) Unit() byte { return p.unit }

// Read takes one reading. At is the time of the middle of the exchange, Skew
// what lay between the first answer and the last. A meter that refuses a
// request is asked again without the registers that the map doesn't name, and
// that is kept. The error wraps a *link.Error, and names the points whose
// registers the meter refuses.
func (p *Meter) Read(ctx context.Context) (reading.Reading, error) {
	begun := p.now()
	first, last, err := p.readBlocks(ctx)
	if isRefusal(err) && p.stopBridging() {
		begun = p.now()
		first, last, err = p.readBlocks(ctx)
	}
	if err != nil {
		return reading.Reading{}, p.naming(err)
	}
	r := reading.Reading{
		At:       begun.Add(last.Sub(begun) / 2),
		Skew:     last.Sub(first),
		Service:  p.service,
		Channels: make([]reading.Channel, p.channels),
	}
	p.m.Decode(p.blocks, &r)
	return r, nil
}

// readBlocks asks for each block of the plan and gives the times of the first
// answer and the last.
func (p *Meter) readBlocks(ctx context.Context) (first, last time.Time, err error) {
	p.blocks = p.blocks[:0]
	for _, q := range p.plan {
		words, err := p.conn.Registers(ctx, link.Read{Unit: p.unit, Function: link.Function(q.Table.Function()), Address: q.Address, Count: q.Count})
		if err != nil {
			return first, last, err
		}
		last = p.now()
		if len(p.blocks) == 0 {
			first = last
		}
		p.blocks = append(p.blocks, regmap.Block{Request: q, Words: words})
	}
	return first, last, nil
}

// isRefusal reports an answer that refuses the address or the length:
// exceptions 2 and 3 (MODBUS Application Protocol V1.1b3, 7).
func isRefusal(err error) bool {
	return errors.Is(err, link.IllegalDataAddress) || errors.Is(err, link.IllegalDataValue)
}

// stopBridging plans without the gaps between points, and reports whether that
// makes other requests.
func (p *Meter) stopBridging() bool {
	p.limits.NoBridging = true
	before := p.plan
	p.plan = p.m.Plan(p.limits)
	return !slices.Equal(before, p.plan)
}

// naming adds to a refusal the points that the refused request is for.
func (p *Meter) naming(err error) error {
	if !isRefusal(err) && !errors.Is(err, link.IllegalFunction) {
		return err
	}
	refused := p.plan[len(p.blocks)]
	var names []string
	for _, q := range p.m.Points() {
		if q.Table == refused.Table && q.Address >= int(refused.Address) && q.Address < int(refused.Address)+int(refused.Count) {
			names = append(names, q.String())
		}
	}
	return fmt.Errorf("%w (the map has %s there)", err, strings.Join(names, ", "))
}
