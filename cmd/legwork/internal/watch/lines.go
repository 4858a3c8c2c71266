package watch

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"legwork/cmd/legwork/internal/screen"
)

// LinesOptions say how a watch without a terminal goes. The zero value goes on
// until the context or the readings end.
type LinesOptions struct {
	Samples int           // readings to take; 0 for no limit
	For     time.Duration // time to take; 0 for no limit
	Wait    func(context.Context, time.Duration) error
	Style   screen.Style
}

// Lines follows a feed and writes its events, one a line. It ends without an
// error at the end of a capture, after the readings or the time asked for, and
// when it is interrupted.
func Lines(ctx context.Context, out io.Writer, s *Session, f Feed, o LinesOptions) error {
	if o.For > 0 {
		short, stop := context.WithTimeout(ctx, o.For)
		defer stop()
		ctx = short
	}
	written := 0
	for {
		pause, more, err := oneLine(ctx, s, f)
		if err != nil {
			return err
		}
		s.Judge()
		list, total := s.Events(written)
		written = total
		for _, e := range list {
			if _, err := fmt.Fprintf(out, "%s  %s\n", e.At.Format(time.TimeOnly), o.Style.Plain(strings.ReplaceAll(e.Text, "\n", " "))); err != nil {
				return err
			}
		}
		if !more || o.Samples > 0 && s.n >= o.Samples || o.Wait(ctx, pause) != nil {
			return nil
		}
	}
}

// oneLine takes one reading, or notes why there is none, and says how long to
// wait and whether there is more to come.
func oneLine(ctx context.Context, s *Session, f Feed) (pause time.Duration, more bool, err error) {
	asked := s.o.Now()
	r, err := f.Next(ctx)
	switch {
	case errors.Is(err, io.EOF):
		s.stale = true
		s.End()
		return 0, false, nil
	case err != nil && ctx.Err() != nil:
		return 0, false, nil
	case err != nil:
		if s.o.Counts == nil { // a capture that can't be read doesn't get better
			return 0, false, err
		}
		s.Lost(s.o.Now(), err)
		return max(leastRetry, f.Interval), true, nil
	}
	if f.Keep != nil {
		if err := f.Keep(r); err != nil {
			return 0, false, fmt.Errorf("--save %w", err)
		}
	}
	s.Add(r)
	return max(0, f.Interval-s.o.Now().Sub(asked)), true, nil
}
