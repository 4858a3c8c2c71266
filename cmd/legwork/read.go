package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"time"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/flags"
	"legwork/cmd/legwork/internal/save"
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
	if err := a.intoItself(s); err != nil {
		return err
	}
	if f.save != "" {
		from, _ := a.address(c, meter, &f.meterFlags)
		to, err := a.openSave(f.save, s, from)
		if err != nil {
			return err
		}
		defer to.Close()
		shown := show
		show = func(r reading.Reading) error { return errors.Join(shown(r), inFlag("--save", to.Write(r))) }
	}
	taken, first := false, show
	show = func(r reading.Reading) error { taken = true; return first(r) }
	err = f.loop(c.Context(), s, show, &absence{say: a.stderr})
	if errors.Is(err, errInterrupted) && taken {
		return nil // by the person, which is how it ends
	}
	if errors.Is(err, errInterrupted) && s.Live() {
		return source.Unread{Err: errors.New("interrupted before the first reading")}
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

// inFlag names the flag that an error is of.
func inFlag(flag string, err error) error {
	if err != nil {
		err = fmt.Errorf("%s %w", flag, err)
	}
	return err
}

// openSave opens a capture to add what a source gives to.
func (a *app) openSave(name string, s source.Source, from source.Address) (*save.Saver, error) {
	o := save.Options{Name: name, Live: s.Live(), Now: time.Now}
	o.Meter, o.Map = source.Identity(from, s)
	for _, one := range []any{a.stdin, a.stdout, source.File(s)} {
		if f, ok := fileOf(one); ok && f != nil {
			o.Others = append(o.Others, f)
		}
	}
	to, err := save.Open(o)
	if err != nil {
		return nil, fmt.Errorf("--save %w", err)
	}
	return to, nil
}

// intoItself refuses to write readings into the very file that they come from,
// which would never end.
func (a *app) intoItself(s source.Source) error {
	from := source.File(s)
	f, ok := fileOf(a.stdout)
	if from == nil || !ok {
		return nil
	}
	is, err := from.Stat()
	to, failed := f.Stat()
	if err == nil && failed == nil && is.Mode().IsRegular() && os.SameFile(is, to) {
		return fmt.Errorf("%s: the output goes into the file that is read; send it to another one", from.Name())
	}
	return nil
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
		case err != nil && n > 0 && most == 0 && errors.As(err, new(source.Unread)):
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
			// Readings that were missed are not made up for.
			next = slices.MaxFunc([]time.Time{next.Add(f.every), time.Now()}, time.Time.Compare)
			if err := pause(ctx, time.Until(next)); err != nil {
				return err
			}
		}
	}
	return nil
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
