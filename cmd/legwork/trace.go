package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"time"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/files"
	"legwork/cmd/legwork/internal/screen"
	"legwork/cmd/legwork/internal/sites"
	"legwork/cmd/legwork/internal/source"
	"legwork/cmd/legwork/internal/trace"
)

type traceFlags struct {
	every, off, timeout time.Duration
	format, into, as    string
}

func (a *app) trace() *cobra.Command {
	var f traceFlags
	c := &cobra.Command{
		Use:     "trace SITES",
		GroupID: "many",
		Short:   "Find which meter a circuit hangs on, while its breaker is switched",
		Long: "Watches all meters of a list while one circuit after another is switched off at its\n" +
			"breaker, left off while you count to ten, and switched on again, and says which meter and\n" +
			"channel followed. Ask who is on the circuit first. It goes on until it is interrupted.",
		Example: "legwork trace sites.csv --into sites.csv --as suite-12",
		Args:    oneArgument("a sites FILE or folder"),
		RunE:    func(c *cobra.Command, args []string) error { return a.runTrace(c.Context(), args[0], f) },
	}
	c.Flags().DurationVar(&f.every, "every", time.Second, "time between two readings of a meter")
	c.Flags().DurationVar(&f.off, "off", trace.DefaultOff, "how long a breaker is left off")
	c.Flags().DurationVar(&f.timeout, "timeout", 500*time.Millisecond, "how long to wait for one answer")
	addFormat(c, &f.format)
	c.Flags().StringVar(&f.into, "into", "", "with --as: name the meter that is found in the sites `FILE`, and end")
	c.Flags().StringVar(&f.as, "as", "", "with --into: the `NAME` that it gets")
	return c
}

func (f *traceFlags) check() error {
	switch {
	case f.every <= 0 || f.off <= 0 || f.timeout <= 0:
		return errors.New("--every, --off and --timeout are times above 0, such as 1s")
	case (f.into == "") != (f.as == ""):
		return errors.New("--into FILE and --as NAME go together")
	}
	return nil
}

func (a *app) runTrace(ctx context.Context, file string, f traceFlags) error {
	if err := f.check(); err != nil {
		return err
	}
	list, err := sites.Load(file)
	if err == nil {
		err = f.canName(list)
	}
	if err == nil {
		err = areLive(list, "watched")
	}
	if err != nil {
		return err
	}
	show := a.progress()
	if show.live || f.format == "text" {
		fmt.Fprintf(a.stderr,
			"watching %d meters: switch a circuit off, count to %.0f, switch it on again; interrupt to end\n",
			len(list.Sites), f.off.Seconds())
	}
	var kept error
	err = trace.Run(ctx, list, trace.Options{Every: f.every, Off: f.off, Timeout: f.timeout, Told: a.toldInFull(),
		Found: func(c trace.Circuit) bool {
			var more bool
			more, kept = a.circuit(c, f)
			return more
		}})
	if errors.Is(err, trace.ErrNoAnswer) {
		return source.Unread{Err: fmt.Errorf("%s: %w; `legwork survey %s` says why", file, err, file)}
	}
	return errors.Join(err, kept)
}

// canName refuses a name that is taken before anyone walks to a breaker.
func (f *traceFlags) canName(list *sites.List) error {
	if f.into == "" {
		return nil
	}
	src, err := source.ReadFile(f.into)
	if err != nil {
		return fmt.Errorf("--into %w; it is a sites file, CSV", err)
	}
	_, err = sites.Rename(f.into, src, list.Sites[0].Name, f.as, "")
	return err
}

// circuit tells one that was found, and reports whether to go on.
func (a *app) circuit(c trace.Circuit, f traceFlags) (bool, error) {
	sure := c.Probability >= trace.Sure
	switch {
	case f.format == "json" && sure:
		if err := json.NewEncoder(a.stdout).Encode(c); err != nil {
			return false, err
		}
	case f.format == "text" && sure:
		if err := screen.Circuit(a.stdout, c, a.style()); err != nil {
			return false, err
		}
	}
	if !sure || f.into == "" {
		return true, nil
	}
	return false, a.nameMeter(c, f)
}

// nameMeter writes the name of the meter that was found into the sites file.
func (a *app) nameMeter(c trace.Circuit, f traceFlags) error {
	src, err := os.ReadFile(f.into)
	if err != nil {
		return fmt.Errorf("--into %w", err)
	}
	note := fmt.Sprintf("was %s; traced %s on channel %d, %.0f W", c.Meter, c.At.Format("2006-01-02 15:04"), c.Channel,
		c.Power)
	out, err := sites.Rename(f.into, src, c.Meter, f.as, note)
	if err != nil {
		return err
	}
	edited := files.Output{Name: f.into, Kind: "the sites file", Own: func([]byte) bool { return true }}
	if err := edited.Write(out); err != nil {
		return fmt.Errorf("--into %w", err)
	}
	fmt.Fprintf(a.stderr, "%s: %s is now %s\n", f.into, c.Meter, f.as)
	return nil
}
