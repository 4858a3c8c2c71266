package main

import (
	"context"
	"errors"
	"fmt"
	"io"
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
}

func (a *app) find() *cobra.Command {
	var f findFlags
	c := &cobra.Command{
		Use:     "find [PORT|HOST]",
		GroupID: "wires",
		Short:   "Find a meter's speed, parity and unit, and print the METER that reads it",
		Long: "Asks for one register at the likeliest settings first, and prints the METER address of\n" +
			"the meter that answers. On a line that is in use by another master, leave it be: two\n" +
			"masters disturb each other. Exit status: 0 found, 2 the command was wrong, 4 not found.",
		Example: "legwork find /dev/ttyUSB0 --units 1-247",
		Args:    atMostOne("PORT or HOST"),
		RunE:    func(c *cobra.Command, args []string) error { return a.runFind(c, args, f) },
	}
	c.Flags().Var(flags.Text(&f.units, "1-10", parseUnits), "units", "unit identifiers to ask, such as `1-247` or 1,5,17")
	c.Flags().Var(flags.Duration(&f.timeout, 0, flags.FromZero), "timeout",
		"how long to wait for one answer; 200ms on a serial line, 1s on a network")
	c.Flags().BoolVar(&f.all, "all", false, "go on to all units after the first meter")
	return c
}

func (a *app) runFind(c *cobra.Command, args []string, f findFlags) error {
	where, err := a.whereToFind(args)
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
	if text := screen.Found(result); text != "" {
		_, werr := io.WriteString(a.stdout, text)
		return werr
	}
	screen.NotFound(a.stderr, name, result)
	if errors.Is(err, context.Canceled) {
		return source.Unread{Err: fmt.Errorf("stopped after %d questions; nothing was found until then", result.Asked)}
	}
	return status(exitUnread)
}
