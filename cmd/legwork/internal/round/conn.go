package round

import (
	"context"

	"legwork/probe/link"
)

// conn is a connection that is made when something is asked over it. It is a
// link.Counted.
type conn struct {
	dial    func(context.Context) (link.Counted, error)
	link    link.Counted
	refused error // it couldn't be made in this round
	good    int   // answers in this round, refusals among them
	bad     int
}

// begin begins a round. A connection on which nothing answered is half dead,
// perhaps: only a new one tells.
func (c *conn) begin() {
	if c.link != nil && c.bad > 0 && c.good == 0 {
		_ = c.Close()
	}
	c.refused, c.good, c.bad = nil, 0, 0
}

func (c *conn) open(ctx context.Context) error {
	if c.link != nil || c.refused != nil {
		return c.refused
	}
	l, err := c.dial(ctx)
	if err != nil {
		c.refused = err
		return err
	}
	c.link = l
	return nil
}

// Registers reads registers.
func (c *conn) Registers(ctx context.Context, r link.Read) ([]uint16, error) {
	if err := c.open(ctx); err != nil {
		return nil, err
	}
	words, err := c.link.Registers(ctx, r)
	if err == nil {
		c.good++
	} else {
		c.bad++
	}
	return words, err
}

// Identify asks the unit who it is.
func (c *conn) Identify(ctx context.Context, unit byte) (link.Identity, error) {
	if err := c.open(ctx); err != nil {
		return link.Identity{}, err
	}
	return c.link.Identify(ctx, unit)
}

// Counts tells how well the connection does.
func (c *conn) Counts() link.Counts {
	if c.link == nil {
		return link.Counts{}
	}
	return c.link.Counts()
}

// Close ends it; the next question makes a new one.
func (c *conn) Close() error {
	if c.link == nil {
		return nil
	}
	err := c.link.Close()
	c.link = nil
	return err
}
