package seek

import (
	"context"
	"errors"
	"time"

	"legwork/probe/link"
)

type search struct {
	Options
	wait   time.Duration // for one answer, now
	result Result
	heard  map[string]*Heard
	order  []string
	asked  int
}

func (s *search) done() Result {
	for _, name := range s.order {
		s.result.Heard = append(s.result.Heard, *s.heard[name])
	}
	s.result.Asked = s.asked
	return s.result
}

func (s *search) goesOn(ctx context.Context) bool {
	return len(s.result.Found) == 0 && s.result.Error == nil && ctx.Err() == nil
}

// Run searches until a meter is found, everything was tried, or ctx ends. What
// was found and heard until then is given with the error of ctx.
func Run(ctx context.Context, o Options) (Result, error) {
	s := search{Options: o, wait: o.patience(), heard: map[string]*Heard{}}
	first := min(1, len(o.Units))
	for _, w := range o.Ways {
		if s.goesOn(ctx) {
			s.way(ctx, w, o.Units[:first])
		}
		if s.All && len(s.result.Found) > 0 {
			s.way(ctx, w, o.Units[first:])
			return s.done(), ctx.Err()
		}
	}
	for _, w := range o.Ways {
		if s.goesOn(ctx) {
			s.way(ctx, w, o.Units[first:])
		}
	}
	s.wait = morePatience * s.patience()
	for _, w := range o.Ways[:o.chances()] {
		if s.goesOn(ctx) {
			s.way(ctx, w, o.Units[:first])
		}
	}
	return s.done(), ctx.Err()
}

// way asks units in one way, until one is found or to the last. Only one
// connection is open at a time: a serial port, and many a gateway, has no more.
func (s *search) way(ctx context.Context, w Way, units []byte) {
	var c link.Counted
	defer func() { closeIf(c) }()
	for _, unit := range units {
		if ctx.Err() != nil || len(s.result.Found) > 0 && !s.All {
			return
		}
		if c == nil {
			if c, s.result.Error = w.Open(ctx, s.wait); s.result.Error != nil {
				c = nil
				return
			}
		}
		s.tell(w, unit)
		if !s.asks(ctx, c, w, unit) {
			continue
		}
		closeIf(c)
		c = nil
		if found, sure := s.confirm(ctx, w, unit); sure {
			s.result.Found = append(s.result.Found, found)
		}
	}
}

func closeIf(c link.Counted) {
	if c != nil {
		_ = c.Close()
	}
}

func (s *search) tell(w Way, unit byte) {
	s.asked++
	if s.Step != nil {
		left := s.Longest() - time.Duration(s.asked-1)*s.patience()
		if s.wait > s.patience() {
			left = time.Duration(s.Questions()-s.asked+1) * s.wait
		}
		s.Step(Step{w.Name, unit, s.asked, s.Questions(), left})
	}
}

// asks reports whether a unit answers, and keeps what else was heard.
func (s *search) asks(ctx context.Context, c link.Counted, w Way, unit byte) bool {
	before := c.Counts()
	_, err := c.Registers(ctx, one(unit))
	if answered(err) {
		return true
	}
	if after := c.Counts(); after.BytesReceived > before.BytesReceived {
		h := s.heard[w.Name]
		if h == nil {
			h = &Heard{Way: w.Name}
			s.heard[w.Name] = h
			s.order = append(s.order, w.Name)
		}
		h.Counts, h.Err = after, err
	}
	return false
}

func one(unit byte) link.Read {
	return link.Read{Unit: unit, Function: link.ReadHolding, Address: 0, Count: 1}
}

// answered reports an answer of the meter: registers, or a refusal other than a
// gateway's that there is nobody.
func answered(err error) bool {
	var refused link.Exception
	return err == nil || errors.As(err, &refused) && refused != link.GatewayPath && refused != link.GatewayTarget
}

// confirm asks again with more patience, on a connection of its own, and then
// who the meter is.
func (s *search) confirm(ctx context.Context, w Way, unit byte) (Found, bool) {
	f := Found{Way: w, Unit: unit, Of: confirmations}
	c, err := w.Open(ctx, morePatience*s.wait)
	if err != nil {
		return f, false
	}
	defer c.Close()
	for range confirmations {
		_, err := c.Registers(ctx, one(unit))
		if answered(err) {
			f.Good++
			f.Refuses = err != nil
		}
	}
	f.Slowest = c.Counts().Slowest
	if f.Good < confirmations-1 {
		return f, false
	}
	if id, err := c.Identify(ctx, unit); err == nil {
		f.Identity, f.Known = id, true
	}
	return f, true
}
