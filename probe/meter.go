package probe

import (
	"cmp"
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
	answered bool // a whole reading was taken
	brief    bool
}

// MeterOptions set how a meter is read. The zero value is useful.
type MeterOptions struct {
	Unit    int              // unit identifier, to 255; 0 takes the map's, or 1
	Limits  regmap.Limits    // what the meter can take
	Service string           // noted on every reading
	Now     func() time.Time // nil is time.Now
	Brief   bool             // a silent first request isn't followed by a shorter one
}

// NewMeter makes a meter of a connection and a map; Close stays with whoever
// made the connection.
func NewMeter(c link.Conn, m *regmap.Map, o MeterOptions) *Meter {
	unit := cmp.Or(o.Unit, m.Unit, 1)
	if o.Now == nil {
		o.Now = time.Now
	}
	return &Meter{conn: c, m: m, unit: byte(unit), now: o.Now, service: o.Service,
		limits: o.Limits, plan: m.Plan(o.Limits), channels: m.Channels(), brief: o.Brief}
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
// request is asked again without the registers that the map doesn't name, and in
// shorter requests, and what it takes is kept; so is one that is silent to the
// first reading's requests and answers for a single register. The error wraps a *link.Error,
// and names the points whose registers the meter refuses.
func (p *Meter) Read(ctx context.Context) (reading.Reading, error) {
	begun := p.now()
	first, last, err := p.readBlocks(ctx)
	limits, plan := p.limits, p.plan
	for (isRefusal(err) || p.isTooLong(ctx, err)) && p.concede(err) {
		begun = p.now()
		first, last, err = p.readBlocks(ctx)
	}
	if err != nil {
		err = p.naming(err)
		p.limits, p.plan = limits, plan // nothing was learnt that helps
		return reading.Reading{}, err
	}
	p.answered = true
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
		words, err := p.conn.Registers(ctx, p.request(q))
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

func (p *Meter) request(q regmap.Request) link.Read {
	return link.Read{Unit: p.unit, Function: link.Function(q.Table.Function()), Address: q.Address, Count: q.Count}
}

// isRefusal reports an answer that refuses the address or the length:
// exceptions 2 and 3 (MODBUS Application Protocol V1.1b3, 7).
func isRefusal(err error) bool {
	return errors.Is(err, link.IllegalDataAddress) || errors.Is(err, link.IllegalDataValue)
}

// isTooLong reports a request that was met with silence where a single register
// is answered: some gateways drop what is too long for them. Once a whole
// reading was taken, silence has other causes.
func (p *Meter) isTooLong(ctx context.Context, err error) bool {
	if p.answered || p.brief || !errors.As(err, new(link.NoAnswer)) {
		return false
	}
	q := p.plan[len(p.blocks)]
	if q.Count <= 1 {
		return false
	}
	q.Count = 1
	_, err = p.conn.Registers(ctx, p.request(q))
	return err == nil
}

// concede plans what a meter that refused may take, and reports whether that is
// another plan. Exception 3 speaks of the length, and 2 of addresses (MODBUS
// Application Protocol V1.1b3, 7), so that is tried first; but meters are known
// to mean the other. Silence can only be of the length.
func (p *Meter) concede(err error) bool {
	if !errors.Is(err, link.IllegalDataAddress) {
		return p.shorten() || p.stopBridging()
	}
	return p.stopBridging() || p.shorten()
}

// stopBridging plans without the gaps between points.
func (p *Meter) stopBridging() bool {
	l := p.limits
	l.NoBridging = true
	return p.adopt(l)
}

// shorten plans with requests of at most half the registers of the one that was
// refused, and fewer than before.
func (p *Meter) shorten() bool {
	l := p.limits
	most := int(p.plan[len(p.blocks)].Count) / 2
	if l.MaxRegisters > 0 {
		most = min(most, l.MaxRegisters-1)
	}
	for l.MaxRegisters = most; l.MaxRegisters > 0; l.MaxRegisters /= 2 {
		if p.adopt(l) {
			return true
		}
	}
	return false
}

// adopt takes limits that make another plan.
func (p *Meter) adopt(l regmap.Limits) bool {
	plan := p.m.Plan(l)
	if slices.Equal(plan, p.plan) {
		return false
	}
	p.limits, p.plan = l, plan
	return true
}

// naming adds to a refusal the points that the refused request is for.
func (p *Meter) naming(err error) error {
	if !isRefusal(err) && !errors.Is(err, link.IllegalFunction) {
		return err
	}
	refused := p.plan[len(p.blocks)]
	var names []string
	for _, q := range p.m.Points() {
		from, to := int(refused.Address), int(refused.Address)+int(refused.Count)
		if q.Table == refused.Table && q.Address >= from && q.Address < to {
			names = append(names, q.String())
		}
	}
	return fmt.Errorf("%w (the map has %s there)", err, strings.Join(names, ", "))
}
