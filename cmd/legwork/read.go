package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/flags"
	"legwork/cmd/legwork/internal/screen"
	"legwork/cmd/legwork/internal/source"
	"legwork/probe/capture"
	"legwork/probe/reading"
)

type readFlags struct {
	meterFlags
	format  string
	samples int
	every   time.Duration
	save    string
}

func (a *app) read() *cobra.Command {
	var f readFlags
	c := &cobra.Command{
		Use:               "read METER",
		GroupID:           "look",
		Short:             "Show what a meter reads, once or on and on, and keep it",
		Example:           "legwork read sim:kiln-house --every 1s --save kiln.jsonl",
		Args:              oneArgument("a METER"),
		ValidArgsFunction: completeMeters,
		RunE:              func(c *cobra.Command, args []string) error { return a.runRead(c, args[0], f) },
	}
	f.add(c)
	choice{&f.format, "format", "`text` or jsonl, the format of captures", []string{"text", "jsonl"}}.add(c)
	c.Flags().Var(flags.Int(&f.samples, 0, isCount), "samples",
		"readings to take `N`; else one, or with --every on and on")
	c.Flags().Var(flags.Duration(&f.every, 0, flags.FromZero), "every",
		"time from one reading to the next; goes on until interrupted, through silences too")
	c.Flags().StringVar(&f.save, "save", "", "add the readings to a capture `FILE`")
	return c
}

func (a *app) runRead(c *cobra.Command, meter string, f readFlags) error {
	s, err := a.open(c.Context(), c, meter, f.meterFlags)
	if err != nil {
		return err
	}
	defer s.Close()
	show, err := a.shower(f)
	if err != nil {
		return err
	}
	if f.save != "" {
		keep, file, err := openSave(f.save)
		if err != nil {
			return err
		}
		defer file.Close()
		show = both(show, keep)
	}
	err = f.loop(c.Context(), s, show, &absence{say: a.stderr})
	if errors.Is(err, errInterrupted) {
		return nil // by the person, which is how it ends
	}
	return err
}

// shower writes a reading where the person looks.
func (a *app) shower(f readFlags) (func(reading.Reading) error, error) {
	if f.format == "jsonl" {
		return capture.NewWriter(a.stdout).Write, nil
	}
	style := a.style()
	return func(r reading.Reading) error { return screen.Reading(a.stdout, r, style) }, nil
}

func both(first, second func(reading.Reading) error) func(reading.Reading) error {
	return func(r reading.Reading) error { return errors.Join(first(r), second(r)) }
}

// openSave opens a capture to add to. Whole lines go to its end, so that an
// interruption leaves a capture; a file that holds something else is refused.
func openSave(name string) (func(reading.Reading) error, io.Closer, error) {
	if err := checkSave(name); err != nil {
		return nil, nil, err
	}
	f, err := os.OpenFile(name, os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o644)
	if err != nil {
		return nil, nil, fmt.Errorf("--save %w; choose a file that can be written", err)
	}
	if strings.EqualFold(filepath.Ext(name), ".csv") {
		return capture.NewCSVWriter(f).Write, f, nil
	}
	return capture.NewWriter(f).Write, f, nil
}

func checkSave(name string) error {
	f, err := os.Open(name)
	if errors.Is(err, os.ErrNotExist) {
		return nil
	}
	if err != nil {
		return fmt.Errorf("--save %w", err)
	}
	defer f.Close()
	if info, err := f.Stat(); err == nil && info.Size() == 0 {
		return nil
	}
	if strings.EqualFold(filepath.Ext(name), ".csv") {
		return fmt.Errorf("--save %s: there is such a file already; CSV is only written anew", name)
	}
	c, err := capture.NewReader(name, f)
	for err == nil {
		_, err = c.Next()
	}
	if errors.Is(err, io.EOF) {
		return nil
	}
	return fmt.Errorf("--save: %w; nothing was added", err)
}

// loop takes readings until there are enough, or it is interrupted. A meter that
// was read on and on and falls silent is asked on, and away tells of it.
func (f *readFlags) loop(ctx context.Context, s source.Source, show func(reading.Reading) error, away *absence) error {
	most := f.samples
	if most == 0 && f.every == 0 && s.Live() {
		most = 1
	}
	next := time.Now()
	for n := 0; most == 0 || n < most; {
		r, err := s.Next(ctx)
		switch {
		case !s.Live() && errors.Is(err, io.EOF):
			return nil
		case ctx.Err() != nil:
			return errInterrupted
		case err != nil && n > 0 && most == 0 && isUnread(err):
			away.began(err)
		case err != nil:
			return err
		default:
			away.ended()
			if err := show(r); err != nil {
				return err
			}
			n++
		}
		if s.Live() && n != most {
			next = later(next.Add(f.every), time.Now())
			if err := pause(ctx, time.Until(next)); err != nil {
				return err
			}
		}
	}
	return nil
}

func isUnread(err error) bool {
	var unread source.Unread
	return errors.As(err, &unread)
}

// later is a unless it is over by b: readings that were missed are not made up
// for.
func later(a, b time.Time) time.Time {
	if a.Before(b) {
		return b
	}
	return a
}

// absence tells when a meter that is read on and on falls silent and when it is
// back, a line each.
type absence struct {
	say   io.Writer
	since time.Time // zero while it answers
}

func (w *absence) began(err error) {
	if w.since.IsZero() {
		w.since = time.Now()
		fmt.Fprintf(w.say, "%s  no reading: %v; it is asked on until interrupted\n", w.since.Format(time.TimeOnly), err)
	}
}

func (w *absence) ended() {
	if !w.since.IsZero() {
		now := time.Now()
		fmt.Fprintf(w.say, "%s  it answers again, after %s\n", now.Format(time.TimeOnly),
			now.Sub(w.since).Round(100*time.Millisecond))
		w.since = time.Time{}
	}
}
