package main

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/flags"
	"legwork/cmd/legwork/internal/screen"
	"legwork/cmd/legwork/internal/source"
	"legwork/probe/seek"
)

type findFlags struct {
	units   []byte
	timeout time.Duration
	all     bool
	into    string
}

func (a *app) find() *cobra.Command {
	var f findFlags
	c := &cobra.Command{
		Use:     "find [PORT|HOST]",
		GroupID: "wires",
		Short:   "Find a meter's speed, parity and unit, and print the METER that reads it",
		Long: "Asks for one register at the likeliest settings first, and prints the METER address of\n" +
			"the meter that answers, and whether it follows SunSpec. On a line that is in use by\n" +
			"another master, leave it be: two\n" +
			"masters disturb each other. Exit status: 0 found, 2 the command was wrong, 4 not found.",
		Example: "legwork find /dev/ttyUSB0 --units 1-247",
		Args:    atMostOne("PORT or HOST"),
		RunE:    func(c *cobra.Command, args []string) error { return a.runFind(c, args, f) },
	}
	c.Flags().Var(flags.Text(&f.units, "1-10", parseUnits), "units", "unit identifiers to ask, such as `1-247` or 1,5,17")
	c.Flags().Var(flags.Duration(&f.timeout, 0, flags.FromZero), "timeout",
		"how long to wait for one answer; 200ms on a serial line, 1s on a network")
	c.Flags().BoolVar(&f.all, "all", false, "go on to all units after the first meter")
	c.Flags().StringVar(&f.into, "into", "", "write the METER into a job sheet, `JOB.yaml`, where it has none")
	_ = c.MarkFlagFilename("into", "yaml", "yml")
	return c
}

func (a *app) runFind(c *cobra.Command, args []string, f findFlags) error {
	where, err := a.whereToFind(args)
	if err == nil {
		err = mayGoInto(f.into)
	}
	if err != nil {
		return err
	}
	o := seek.Options{Ways: where.Ways(), Units: f.units, Timeout: f.timeout, All: f.all}
	if where.Kind == source.BareHost && f.timeout == 0 {
		o.Timeout = source.NetworkPatience
	}
	name := where.Place()
	progress := a.progress()
	o.Step = progress.step
	fmt.Fprintf(a.stderr, "%s: %d ways x %d units, the likeliest first, at most %s; interrupt to stop\n",
		name, len(o.Ways), len(f.units), roundly(o.Longest()))
	result, err := seek.Run(c.Context(), o)
	progress.end()
	if len(result.Found) > 0 {
		return a.tellFound(c.Context(), result.Found, f)
	}
	screen.NotFound(a.stderr, name, result)
	if errors.Is(err, context.Canceled) {
		return source.Unread{Err: fmt.Errorf("stopped after %d questions; nothing was found until then", result.Asked)}
	}
	return status(exitUnread)
}

// tellFound says which meters were found, asks each whether it describes itself,
// and writes the one into a job sheet.
func (a *app) tellFound(ctx context.Context, found []seek.Found, f findFlags) error {
	var all []screen.FoundMeter
	for _, one := range found {
		at, err := source.Parse(one.Way.Meter(one.Unit))
		if err != nil {
			return err
		}
		_, sunspec := a.trySunSpec(ctx, at, source.Options{Timeout: max(f.timeout, source.NetworkPatience)})
		all = append(all, screen.FoundMeter{Found: one, SunSpec: sunspec})
	}
	if _, err := fmt.Fprint(a.stdout, screen.Found(all)); err != nil || f.into == "" {
		return err
	}
	if len(all) > 1 {
		return fmt.Errorf("--into %s: %d meters answered; name one with --units N, without --all", f.into, len(all))
	}
	return a.goesInto(f.into, all[0])
}
