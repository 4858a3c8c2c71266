package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/record"
	"legwork/cmd/legwork/internal/screen"
	"legwork/cmd/legwork/internal/source"
	"legwork/cmd/legwork/internal/watch"
)

type loadstepFlags struct {
	meterFlags
	judgeFlags
	keepFlags
	leg      int
	within   time.Duration
	interval time.Duration
	format   string
}

func (a *app) loadstep() *cobra.Command {
	var f loadstepFlags
	c := &cobra.Command{
		Use:     "loadstep METER --leg N",
		GroupID: "look",
		Short:   "Switch a load on one leg on, and be told which channel took it",
		Long: "Waits for a load to come on, says which channel took it and with which sign, and prints\n" +
			"the sentence that tells it to `legwork diagnose --seen`. The load is switched by its own\n" +
			"switch or breaker, with the panel closed. A load on one leg that comes on by itself just\n" +
			"then is taken for it: where loads cycle, do it twice. Exit status: 0 the leg's own channel\n" +
			"took it, its power up; 1 another one did, or the power went down; 2 the command, a file\n" +
			"or a value was wrong; 3 nothing was seen, or too much at once; 4 the meter could not be\n" +
			"read.",
		Example:           "legwork loadstep sim:kiln-house --leg 1",
		Args:              orKeep("a METER"),
		ValidArgsFunction: completeMeters,
		RunE:              func(c *cobra.Command, args []string) error { return a.runLoadstep(c, f.meterOf(args), f) },
	}
	f.add(c)
	f.addJudging(c)
	c.Flags().IntVar(&f.leg, "leg", 0, "leg `N` whose load comes on")
	c.Flags().DurationVar(&f.within, "within", time.Minute, "how long to wait for it")
	c.Flags().DurationVar(&f.interval, "interval", 500*time.Millisecond, "time from one reading to the next")
	addFormat(c, &f.format)
	f.addKeep(c)
	_ = c.RegisterFlagCompletionFunc("leg", cobra.FixedCompletions([]string{"1", "2", "3"}, cobra.ShellCompDirectiveNoFileComp))
	return c
}

func (f *loadstepFlags) check() error {
	switch {
	case f.leg == 0:
		return fmt.Errorf("say with --leg 1, 2 or 3 on which leg the load comes on")
	case f.leg < 1 || f.leg > 3:
		return fmt.Errorf("--leg %d: legs are numbered 1 to 3", f.leg)
	case f.within <= 0:
		return fmt.Errorf("--within %s is no time to wait", f.within)
	case f.interval < 0:
		return fmt.Errorf("--interval %s is below zero", f.interval)
	}
	return nil
}

func (a *app) runLoadstep(c *cobra.Command, meter string, f loadstepFlags) error {
	k, o, err := a.optionsKept(c, meter, f.keepFlags, &f.judgeFlags)
	if err == nil {
		err = f.check()
	}
	if err != nil {
		return err
	}
	s, err := a.openKept(c, meter, f.meterFlags, k)
	if err != nil {
		return err
	}
	defer s.Close()
	o.Service = s.Service()
	if o.Service != "" {
		if err := watch.CheckLeg(o.Service, f.leg); err != nil {
			return fmt.Errorf("--leg: %w", err)
		}
	}
	on := watch.NewSession(watch.Options{Meter: meter, Diagnose: o, Counts: countsOf(s), Replay: !s.Live()})
	g, err := a.leadStep(c.Context(), s, on, f)
	var danger watch.Danger
	if errors.As(err, &danger) {
		fmt.Fprintln(a.stderr, danger.Error())
		return status(exitUndecided)
	}
	if err != nil {
		return err
	}
	e := stepEntry(g)
	if err := (outcome[record.LoadStep]{*e.Result.LoadStep, screen.LoadStep, f.format, e}).give(c.Context(), a, k); err != nil {
		return err
	}
	word, _ := e.Result.Sentence()
	return verdictStatus(word)
}

// leadStep reads until the step is seen or the time is over. What to do is said
// on standard error, once the load has been seen to stay.
func (a *app) leadStep(ctx context.Context, s source.Source, on *watch.Session, f loadstepFlags) (*watch.Guide, error) {
	asked := false
	for {
		r, err := s.Next(ctx)
		if errors.Is(err, io.EOF) && on.Guide() != nil {
			return on.Guide().Over(), nil
		}
		if err != nil {
			return nil, err
		}
		on.Add(r)
		on.Judge()
		if on.Guide() == nil {
			if err := on.Lead(f.leg, f.within); err != nil {
				return nil, err
			}
		}
		g := on.Guide()
		if g.Outcome != watch.Waiting {
			return g, nil
		}
		if g.Ready() && !asked {
			asked = true
			fmt.Fprintf(a.stderr, "%s, by its own switch or breaker, panel closed; waiting %s\n", g.Ask(on.Result().Service.Name), f.within)
		}
		if s.Live() {
			if err := pause(ctx, f.interval); err != nil {
				return nil, err
			}
		}
	}
}

// stepEntry is a led load step as a record holds it. A load that nothing took may
// not have come on: that is no evidence until a person says so.
func stepEntry(g *watch.Guide) record.Entry {
	out := record.LoadStep{Legwork: 1, Leg: g.Leg, Outcome: g.Outcome.String(), Channels: []int{}, Says: g.Says, Seen: append([]string{}, g.Seen...)}
	for _, k := range g.Step.Channels {
		out.Channels = append(out.Channels, k+1)
	}
	if len(g.Step.Channels) == 1 {
		k := g.Step.Channels[0]
		amps := g.Step.Amps(k)
		out.Current = &amps
		if watts, ok := g.Step.Watts(k); ok {
			out.Power = &watts
		}
	}
	e := record.Entry{Kind: record.OfLoadStep, Result: &record.Result{LoadStep: &out}}
	if g.Outcome != watch.NothingSeen {
		e.Tests = out.Seen
	}
	return e
}
