package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"time"

	tea "charm.land/bubbletea/v2"
	"github.com/spf13/cobra"
	"golang.org/x/term"

	"legwork/cmd/legwork/internal/flags"
	"legwork/cmd/legwork/internal/source"
	"legwork/cmd/legwork/internal/watch"
	"legwork/probe/link"
)

type watchFlags struct {
	meterFlags
	judgeFlags
	keepFlags
	interval time.Duration
	save     string
	lasts    time.Duration
	samples  int
}

func (a *app) watch() *cobra.Command {
	var f watchFlags
	c := &cobra.Command{
		Use:     "watch METER",
		GroupID: "look",
		Short:   "Watch a meter while you work: verdict, phasors, loads, what to do next",
		Long: "Shows on one screen what a meter reads and what that says of its wiring, and changes\n" +
			"as you work. Press ? for the keys. Without a terminal, or with --plain, it prints what happens, one line\n" +
			"each. With --keep the results of tests, led load steps and changes of wiring that you tell\n" +
			"it join the job's record at once. The exit status is that of the last verdict, as of `legwork diagnose`.",
		Example:           "legwork watch sim:kiln-house --fault ct2-reversed",
		Args:              orKeep("a METER"),
		ValidArgsFunction: completeMeters,
		RunE:              func(c *cobra.Command, args []string) error { return a.runWatch(c, f.meterOf(args), f) },
	}
	f.add(c)
	f.addJudging(c)
	f.addFindings(c)
	f.addKeep(c)
	c.Flags().Var(flags.Duration(&f.interval, time.Second, flags.FromZero), "interval", "time from one reading to the next")
	c.Flags().StringVar(&f.save, "save", "", "add the readings to a capture `FILE`")
	c.Flags().Var(flags.Duration(&f.lasts, 0, flags.FromZero), "for", "without a terminal: end after this time")
	c.Flags().Var(flags.Int(&f.samples, 0, isCount), "samples", "without a terminal: end after `N` readings")
	return c
}

func (a *app) runWatch(c *cobra.Command, meter string, f watchFlags) error {
	k, o, err := a.optionsKept(c, meter, f.keepFlags, &f.judgeFlags)
	if err != nil {
		return err
	}
	f.Service = k.ServiceOr(f.Service)
	s, err := a.open(c.Context(), c, meter, f.meterFlags)
	if err != nil {
		return err
	}
	defer s.Close()
	o.Service = s.Service()
	feed := watch.Feed{Next: s.Next, Interval: f.interval}
	if f.save != "" {
		from, _ := a.address(c, meter, &f.meterFlags)
		to, err := a.openSave(f.save, s, from)
		if err != nil {
			return err
		}
		defer to.Close()
		feed.Keep = to.Write
	}
	in, out, onScreen := a.terminal()
	words := &wordKeeper{ctx: c.Context(), into: k}
	on := watch.NewSession(watch.Options{Meter: meter, Diagnose: o, Counts: countsOf(s), Replay: !s.Live() && !onScreen, Keep: words.hook()})
	if onScreen {
		err = a.watchScreen(c.Context(), on, feed, in, out)
	} else {
		if !s.Live() {
			feed.Interval = 0
		}
		err = watch.Lines(c.Context(), a.stdout, on, feed, watch.LinesOptions{Samples: f.samples, For: f.lasts,
			Wait: pause, Style: a.style()})
	}
	if err == nil {
		err = words.tell(a)
	}
	if err != nil {
		return err
	}
	return sessionStatus(on)
}

// sessionStatus is the exit status of the last verdict.
func sessionStatus(on *watch.Session) error {
	if on.Readings() == 0 {
		return status(exitUnread)
	}
	return verdictStatus(string(on.Result().Verdict))
}

// countsOf is the health of a source's link; nil where it has none.
func countsOf(s source.Source) func() link.Counts {
	if own, ok := s.(interface{ Counts() link.Counts }); ok {
		return own.Counts
	}
	if m, ok := s.(*source.Meter); ok && m.Link != nil {
		return m.Link.Counts
	}
	return nil
}

// terminal is where the screen is, if there is one.
func (a *app) terminal() (in, out *os.File, ok bool) {
	in, okIn := a.stdin.(*os.File)
	out, okOut := fileOf(a.stdout)
	ok = okIn && okOut && term.IsTerminal(int(in.Fd())) && term.IsTerminal(int(out.Fd())) && !a.lineByLine()
	return in, out, ok
}

// watchScreen runs the screen until it is left, and says in a line how it ended.
func (a *app) watchScreen(ctx context.Context, on *watch.Session, feed watch.Feed, in, out *os.File) error {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	m := watch.NewModel(ctx, on, feed, a.style())
	p := tea.NewProgram(m, tea.WithContext(ctx), tea.WithInput(in), tea.WithOutput(out), tea.WithFPS(10), tea.WithoutSignalHandler())
	_, err := p.Run()
	if err != nil && ctx.Err() == nil && !errors.Is(err, tea.ErrInterrupted) {
		return fmt.Errorf("the screen: %w; without one, send the output to a file or a pipe", err)
	}
	if err := m.Failed(); err != nil {
		return err
	}
	if err := m.KeepErr(); err != nil {
		return fmt.Errorf("--save %w", err)
	}
	return on.Farewell(a.stdout)
}
