package link

import (
	"context"
	"errors"
	"os"
	"time"
)

// silent listens through what is left of the silence before a frame, which is
// more exact than a sleep, and reports whether it was one.
func (r *RTU) silent(ctx context.Context, w wire) (bool, error) {
	until := r.lastByte.Add(r.pace.gap())
	if !time.Now().Before(until) {
		return true, nil
	}
	n, err := w.receive(ctx, r.in[:], until)
	if n > 0 {
		r.strayed(n)
		return false, nil
	}
	if errors.Is(err, os.ErrDeadlineExceeded) {
		return true, nil
	}
	return false, err
}

// strayed drops n bytes of r.in that came when nothing was asked.
func (r *RTU) strayed(n int) {
	r.took(0, n)
	r.unasked(r.in[:n])
}

// outlast listens through the late window of a request that was given up, to its
// end or to the late answer.
func (r *RTU) outlast(ctx context.Context, w wire) error {
	if r.quiet.IsZero() || !time.Now().Before(r.quiet) {
		r.quiet = time.Time{}
		return nil
	}
	n := 0
	for {
		if n == len(r.in) {
			r.unasked(r.in[:n])
			n = 0
		}
		got, err := w.receive(ctx, r.in[n:], r.quiet)
		if got > 0 {
			r.took(n, got)
			n += got
			if _, size := r.given.want.find(r.in[:n], isWhole); size > 0 {
				r.cameLate(time.Since(r.given.sent), n, size)
				break
			}
		}
		if errors.Is(err, os.ErrDeadlineExceeded) {
			r.unasked(r.in[:n])
			break
		}
		if err != nil {
			return err
		}
	}
	r.quiet = time.Time{}
	return nil
}

// cameLate counts the answer to the request that was given up.
func (r *RTU) cameLate(after time.Duration, bytes, size int) {
	r.lateAfter, r.given.open = after, false
	r.tally.update(func(c *Counts) {
		c.LateAnswers++
		c.BytesReceived += uint64(bytes)
		c.NoiseBytes += uint64(bytes - size)
		c.Slowest = max(c.Slowest, after)
	})
}

// unasked counts what came when nothing was asked.
func (r *RTU) unasked(got []byte) {
	s := sortOut(got, nil, r.given.want)
	late := 0
	if r.given.open && s.late > 0 { // while nobody listened: how late isn't known
		r.given.open, late = false, 1
	}
	r.tally.update(func(c *Counts) {
		c.BytesReceived += uint64(len(got))
		c.UnaskedBytes += uint64(len(got))
		c.NoiseBytes += uint64(s.noise)
		c.ForeignFrames += uint64(s.foreign)
		c.Doubled += uint64(s.late - late)
		c.LateAnswers += uint64(late)
		if late > 0 {
			c.Slowest = max(c.Slowest, r.options.Timeout)
		}
	})
}

// account counts one exchange. What stands beside the answer is told apart
// where there is anything.
func (r *RTU) account(h *hearing, took time.Duration, err error) {
	var s strays
	doubled := 0
	if h.n > h.size {
		s = sortOut(r.in[:h.at], h.adu, h.want)
		after := sortOut(r.in[h.at+h.size:h.n], h.adu, h.want)
		if h.size > 0 { // no request is open that it could answer late
			after.late, doubled = 0, after.late
		}
		s.add(after)
	}
	r.tally.update(func(c *Counts) {
		c.Requests++
		c.BytesSent += uint64(len(h.adu))
		c.BytesReceived += uint64(h.n + h.dropped)
		c.NoiseBytes += uint64(s.noise + h.dropped)
		c.ZeroBytes += uint64(s.zeros)
		c.Echoes += uint64(s.echoes)
		c.ForeignFrames += uint64(s.foreign)
		c.LateAnswers += uint64(s.late)
		c.Doubled += uint64(doubled)
		c.BadChecks += uint64(s.spoilt)
		switch {
		case err == nil:
			c.Slowest = max(c.Slowest, took)
			if s.noise > 0 {
				c.NoisyAnswers++
			}
		case h.n == 0:
			c.Silences++
		}
	})
}

func (s *strays) add(t strays) {
	s.noise, s.zeros, s.echoes = s.noise+t.noise, s.zeros+t.zeros, s.echoes+t.echoes
	s.foreign, s.late, s.other, s.spoilt = s.foreign+t.foreign, s.late+t.late, s.other+t.other, s.spoilt+t.spoilt
}
