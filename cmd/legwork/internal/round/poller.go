package round

import (
	"context"
	"errors"
	"io"
	"time"

	"legwork/cmd/legwork/internal/sites"
	"legwork/probe/reading"
)

// Poller asks the meters of one wire at an interval until it is told to stop.
// What doesn't answer is asked more and more rarely, down to one round in ten,
// so that it costs the others little; so is a wire on which nothing answers.
type Poller struct {
	Options
	Every time.Duration
	Delay time.Duration // before the first round
	// Each is told every reading and every failure, in the wire's own goroutine.
	Each func(Outcome)
}

// Outcome is what came of asking one meter.
type Outcome struct {
	Site    *sites.Site
	Reading reading.Reading
	Err     error
	Took    time.Duration
	Round   int // from 0
}

// rarest is how many rounds go by between two tries of what never answers.
const rarest = 10

// lapse is the rounds to the next try after so many failures in a row.
func lapse(failures int) int {
	if failures < 2 {
		return 1
	}
	return min(rarest, 1<<min(failures-1, rarest))
}

// tried is what is known of one meter's, or the wire's, last tries.
type tried struct{ failures, due int }

func (t *tried) failed(now int) {
	t.failures++
	t.due = now + lapse(t.failures)
}

// Run asks until ctx ends. Rounds begin at multiples of the interval after the
// first; one that took longer leaves out those that it ran into.
func (p *Poller) Run(ctx context.Context, all []*sites.Site) {
	w := New(p.Options)
	defer w.Close()
	meters := make([]tried, len(all))
	var wire tried
	if !Wait(ctx, p.Delay) {
		return
	}
	first := time.Now()
	for n := 0; ctx.Err() == nil; n = p.next(ctx, first, n) {
		if n < wire.due {
			continue
		}
		w.Begin()
		if p.round(ctx, w, n, all, meters, wire.failures > 0) {
			wire = tried{}
		} else {
			wire.failed(n)
		}
	}
}

// next waits for the next round that isn't over, and gives its number.
func (p *Poller) next(ctx context.Context, first time.Time, n int) int {
	n = max(n+1, int((time.Since(first)+p.Every-1)/p.Every))
	Wait(ctx, time.Until(first.Add(time.Duration(n)*p.Every)))
	return n
}

// round asks every meter that is due, and reports whether anything answered, or
// nothing was due. On a wire that was silent before, the first failure ends it.
func (p *Poller) round(ctx context.Context, w *Wire, n int, all []*sites.Site, meters []tried, doubtful bool) bool {
	answered, asked := false, false
	for i := range all {
		k := (i + n) % len(all) // another one is first each time
		if !doubtful {
			k = i
		}
		if ctx.Err() != nil {
			return true
		}
		if n < meters[k].due && !doubtful {
			continue
		}
		asked = true
		begun := time.Now()
		r, err := w.Read(ctx, all[k])
		if ctx.Err() != nil {
			return true
		}
		p.Each(Outcome{all[k], r, err, time.Since(begun), n})
		switch {
		case err == nil:
			answered, doubtful, meters[k] = true, false, tried{}
		case errors.Is(err, io.EOF):
			answered, meters[k].due = true, 1<<62
		default:
			meters[k].failed(n)
			if doubtful {
				return false
			}
		}
	}
	return answered || !asked
}

// Wait lets d go by, unless ctx ends first.
func Wait(ctx context.Context, d time.Duration) bool {
	if d <= 0 {
		return ctx.Err() == nil
	}
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-t.C:
		return true
	case <-ctx.Done():
		return false
	}
}
