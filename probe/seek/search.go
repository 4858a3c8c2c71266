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

	begun    time.Time
	reckoned time.Duration // what was asked so far, where nothing answers
	left     time.Duration // the same of what is not asked yet
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
	s := search{Options: o, wait: o.patience(), heard: map[string]*Heard{}, begun: time.Now(), left: o.Longest()}
	first := min(1, len(o.Units))
	for _, w := range o.Ways {
		if s.goesOn(ctx) {
			s.way(ctx, w, o.Units[:first])
		}
		if s.All && len(s.result.Found) > 0 {
			s.left = w.cost(len(o.Units)-first, s.wait)
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

// mostBroken is how often in a row a connection may break before a way is left:
// whoever listens there does not want to be asked.
const mostBroken = 3

// way asks units in one way, until one is found or to the last. Only one
// connection is open at a time: a serial port, and many a gateway, has no more.
func (s *search) way(ctx context.Context, w Way, units []byte) {
	var c link.Counted
	defer func() { closeIf(c) }()
	broken := 0
	for i, unit := range units {
		if !s.All && len(s.result.Found) > 0 || s.result.Error != nil || broken == mostBroken || ctx.Err() != nil {
			s.skip(w.cost(len(units), s.wait) - w.cost(i, s.wait))
			return
		}
		if c == nil {
			if c, s.result.Error = w.Open(ctx, s.wait); s.result.Error != nil {
				c = nil
				return
			}
		}
		s.asked++
		s.tell(w, unit)
		is, err := s.asks(ctx, c, w, unit)
		s.skip(w.cost(i+1, s.wait) - w.cost(i, s.wait))
		if broken++; !link.Broken(err) {
			broken = 0
		}
		if !is {
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

// skip takes what was asked, or won't be, off what is left.
func (s *search) skip(d time.Duration) { s.reckoned, s.left = s.reckoned+d, s.left-d }

// slowness is how much longer the line took than was reckoned; 1 where it kept
// to it, or was quicker: the rest may not be.
func (s *search) slowness() float64 {
	if s.reckoned == 0 {
		return 1
	}
	return max(1, float64(time.Since(s.begun))/float64(s.reckoned))
}

func (s *search) tell(w Way, unit byte) {
	s.tellConfirming(Step{Way: w.Name, Unit: unit, Left: time.Duration(s.slowness() * float64(s.left))})
}

func (s *search) tellConfirming(step Step) {
	if s.Step == nil {
		return
	}
	step.Done, step.Total = s.asked, s.Questions()
	s.Step(step)
}

// slowest is the longest time that a further question may take, as far as the meter
// has answered one.
func (s *search) slowest(c link.Counts) time.Duration {
	if c.Slowest > 0 {
		return c.Slowest
	}
	return morePatience * s.wait
}

// asks reports whether a unit answers, and keeps what else was heard. A port that
// is of no use any more ends the search.
func (s *search) asks(ctx context.Context, c link.Counted, w Way, unit byte) (bool, error) {
	before := c.Counts()
	_, err := c.Registers(ctx, one(unit))
	if answered(err) {
		return true, nil
	}
	if errors.As(err, new(link.StuckPort)) {
		s.result.Error = err
	}
	after := c.Counts()
	if after.BytesReceived > before.BytesReceived || link.Broken(err) {
		h := s.heard[w.Name]
		if h == nil {
			h = &Heard{Way: w.Name}
			s.heard[w.Name] = h
			s.order = append(s.order, w.Name)
		}
		h.Counts, h.Err = after, err
	}
	return false, err
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
	for i := range confirmations {
		if ctx.Err() != nil {
			break
		}
		// those that are left, and who it is: each as slow as the slowest so far
		s.tellConfirming(Step{Way: w.Name, Unit: unit, Confirming: i + 1,
			Left: time.Duration(confirmations+1-i) * s.slowest(c.Counts())})
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
