package probe

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"legwork/probe/link"
	"legwork/probe/reading"
	"legwork/probe/regmap"
)

// Meter reads one meter through a link, as a map says.
type Meter struct {
	conn    link.Conn
	m       *regmap.Map
	unit    byte
	now     func() time.Time
	service string

	limits regmap.Limits
	plan   []regmap.Request
	blocks []regmap.Block
}

// MeterOptions set how a meter is read. The zero value is useful.
type MeterOptions struct {
	Unit    int              // unit identifier; 0 takes the map's, or 1
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
	return &Meter{conn: c, m: m, unit: byte(unit), now: o.Now, service: o.Service, limits: o.Limits, plan: m.Plan(o.Limits)}
}

// Plan is the requests that one reading takes now.
func (p *Meter) Plan() []regmap.Request { return p.plan }

// Blocks is what the last reading's registers held; the next reading writes over it.
func (p *Meter) Blocks() []regmap.Block { return p.blocks }

// Unit is the unit identifier that is asked.
func (p *Meter) Unit() byte { return p.unit }

// Read takes one reading. At is the time at which the middle of the exchange
// was, Skew what lay between the first answer and the last. A meter that
// refuses an address is asked once more without the registers that the map
// doesn't name, and that is kept for the connection. The error wraps a
// *link.Error, and names the points that the meter has no registers for.
func (p *Meter) Read(ctx context.Context) (reading.Reading, error) {
	for {
		r, refused, err := p.readPlan(ctx)
		if refused == nil {
			return r, err
		}
		if p.limits.NoBridging {
			return reading.Reading{}, fmt.Errorf("%w%s", err, p.unreadable(*refused))
		}
		p.limits.NoBridging = true
		p.plan = p.m.Plan(p.limits)
	}
}

// readPlan asks for every block. refused is the request that the meter lacks
// registers of.
func (p *Meter) readPlan(ctx context.Context) (r reading.Reading, refused *regmap.Request, err error) {
	p.blocks = p.blocks[:0]
	begun := p.now()
	first := begun
	for i := range p.plan {
		ask := &p.plan[i]
		words, err := p.conn.Registers(ctx, link.Read{Unit: p.unit, Function: link.Function(ask.Table.Function()), Address: ask.Address, Count: ask.Count})
		if err != nil {
			if lacksRegisters(err) {
				refused = ask
			}
			return r, refused, err
		}
		if i == 0 {
			first = p.now()
		}
		p.blocks = append(p.blocks, regmap.Block{Request: *ask, Words: words})
	}
	last := p.now()
	r.At = begun.Add(last.Sub(begun) / 2)
	r.Skew = last.Sub(first)
	r.Service = p.service
	p.m.Decode(p.blocks, &r)
	return r, nil, nil
}

// lacksRegisters reports an answer that refuses the address or the length:
// exceptions 2 and 3 (MODBUS Application Protocol V1.1b3, 7).
func lacksRegisters(err error) bool {
	var x link.Exception
	return errors.As(err, &x) && (x == 2 || x == 3)
}

// unreadable names the points that a refused request would have brought.
func (p *Meter) unreadable(r regmap.Request) string {
	var names []string
	for _, q := range p.m.Points() {
		if q.Table == r.Table && q.Address >= int(r.Address) && q.Address < int(r.Address)+int(r.Count) {
			names = append(names, q.String())
		}
	}
	return fmt.Sprintf("; the map puts %s there: check the addresses, and whether the table is right", strings.Join(names, ", "))
}
