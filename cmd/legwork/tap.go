package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"golang.org/x/term"

	"legwork/cmd/legwork/internal/screen"
	"legwork/cmd/legwork/internal/source"
	"legwork/diagnose/pulses"
	"legwork/probe/reading"
)

// errNoTerminal is what --tap says where no keys can be struck.
var errNoTerminal = errors.New("--tap needs a terminal for its keys; else count by eye and say --count and --over")

// tap counts keys in the terminal, one a pulse.
func (a *app) tap(ctx context.Context) (pulses.Count, error) {
	in, ok := a.stdin.(*os.File)
	if !ok || !term.IsTerminal(int(in.Fd())) {
		return pulses.Count{}, errNoTerminal
	}
	before, err := term.MakeRaw(int(in.Fd()))
	if err != nil {
		return pulses.Count{}, errNoTerminal
	}
	defer term.Restore(int(in.Fd()), before)
	t := tapper{in: in, show: a.stderr, now: time.Now, lines: a.lineByLine()}
	if g, ok := a.stderr.(*screen.Guard); ok {
		t.show = g.To // only counts of ours are shown, which go back to where the line begins
	}
	at, err := t.run(ctx)
	if err != nil {
		return pulses.Count{}, err
	}
	count, err := pulses.Taps(at)
	if err != nil {
		return count, fmt.Errorf("--tap: %w", err)
	}
	return count, nil
}

// tapper turns keys into times.
type tapper struct {
	in    io.Reader
	show  io.Writer
	now   func() time.Time
	lines bool // a line a tap, instead of one that changes
}

// Keys that end or take back.
const (
	keyInterrupt = 3 // Ctrl-C; in raw mode it is a key like any other
	keyEnd       = 4 // Ctrl-D
	keyBack      = 8
	keyEscape    = 27
	keyDelete    = 127
)

// stroke is what one read of the terminal brought, and when.
type stroke struct {
	keys []byte
	at   time.Time
	err  error
}

// run gives the times of the taps, until q.
func (t *tapper) run(ctx context.Context) ([]time.Time, error) {
	fmt.Fprint(t.show, "Strike a key at every pulse, the first one too; backspace takes one back, q ends.\r\n")
	defer fmt.Fprint(t.show, "\r\n")
	strokes := make(chan stroke)
	done := make(chan struct{})
	defer close(done)
	go t.read(strokes, done)
	var at []time.Time
	for {
		select {
		case <-ctx.Done():
			return nil, errInterrupted
		case s := <-strokes:
			more, err := t.take(s, &at)
			if err != nil || !more {
				return at, err
			}
		}
	}
}

func (t *tapper) read(strokes chan<- stroke, done <-chan struct{}) {
	for {
		buffer := make([]byte, 32)
		n, err := t.in.Read(buffer)
		select {
		case strokes <- stroke{buffer[:n], t.now(), err}:
		case <-done:
			return
		}
		if err != nil {
			return
		}
	}
}

// take adds what a stroke means; more is false at the end.
func (t *tapper) take(s stroke, at *[]time.Time) (more bool, err error) {
	for _, key := range s.keys {
		switch key {
		case 'q', 'Q', keyEnd:
			return false, nil
		case keyInterrupt:
			return false, errInterrupted
		case keyEscape:
			return true, nil // an arrow or the like: the rest of it is no tap
		case keyBack, keyDelete:
			*at = (*at)[:max(0, len(*at)-1)]
		default:
			*at = append(*at, s.at)
		}
	}
	if n := len(*at); n > 0 {
		form := "\r\x1b[K%d  %.1f s"
		if t.lines {
			form = "%d  %.1f s\r\n"
		}
		fmt.Fprintf(t.show, form, n, (*at)[n-1].Sub((*at)[0]).Seconds())
	}
	if errors.Is(s.err, io.EOF) {
		return false, nil
	}
	return s.err == nil, s.err
}

// tapAndSample counts while it reads the meter, and gives what was read.
func (a *app) tapAndSample(ctx context.Context, s source.Source, f *pulsesFlags) ([]reading.Reading, error) {
	during, stop := context.WithCancel(ctx)
	type taken struct {
		all []reading.Reading
		err error
	}
	end := make(chan taken, 1)
	go func() {
		var t taken
		for during.Err() == nil && t.err == nil {
			var r reading.Reading
			if r, t.err = s.Next(during); t.err == nil {
				t.all = append(t.all, r)
				_ = pause(during, f.interval)
			}
		}
		end <- t
	}()
	count, err := a.tap(ctx)
	stop()
	t := <-end
	f.counted = count
	switch {
	case err != nil:
		return nil, err
	case t.err != nil && ctx.Err() == nil && len(t.all) == 0:
		return nil, t.err
	}
	return t.all, nil
}
