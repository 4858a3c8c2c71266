package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/flags"
	"legwork/cmd/legwork/internal/record"
	"legwork/cmd/legwork/internal/screen"
	"legwork/cmd/legwork/internal/source"
	"legwork/diagnose"
	"legwork/diagnose/loadstep"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

type loadstepFlags struct {
	meterFlags
	judgeFlags
	keepFlags
	leg      int
	within   time.Duration
	interval time.Duration
	expect   loadstep.Size
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
			"switch or breaker, with the panel closed. A load that comes on by itself just then looks\n" +
			"alike, so that in a terminal you are asked whether it was yours. Without one --expect says\n" +
			"its size, or it is switched off and on once more as asked, and left on.\n" +
			"Exit status: 0 the leg's own channel took it, its power up; 1 another one did, or the\n" +
			"power went down; 2 the command, a file or a value was wrong; 3 nothing was seen, too much\n" +
			"at once, a load that another leg explains, or nobody's; 4 the meter could not be read.",
		Example:           "legwork loadstep sim:kiln-house --leg 1",
		Args:              orKeep("a METER"),
		ValidArgsFunction: completeMeters,
		RunE:              func(c *cobra.Command, args []string) error { return a.runLoadstep(c, f.meterOf(args), f) },
	}
	f.add(c)
	f.addJudging(c)
	c.Flags().IntVar(&f.leg, "leg", 0, "leg `N` whose load comes on")
	c.Flags().DurationVar(&f.within, "within", time.Minute, "how long to wait for it")
	c.Flags().Var(flags.Duration(&f.interval, 500*time.Millisecond, flags.FromZero), "interval",
		"time from one reading to the next")
	c.Flags().Var(flags.Text(&f.expect, "", loadstep.ParseSize), "expect",
		"`SIZE` of the load by its plate, such as 1.5kW or 12A: another one isn't taken for it")
	addFormat(c, &f.format)
	f.addKeep(c)
	complete(c, "leg", []string{"1", "2", "3"})
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
		if err := loadstep.CheckLeg(o.Service, f.leg); err != nil {
			return fmt.Errorf("--leg: %w", err)
		}
	}
	led, err := a.leadStep(c.Context(), s, o, f)
	if danger, ok := errors.AsType[loadstep.Danger](err); ok {
		fmt.Fprintln(a.stderr, danger.Error())
		return status(exitUndecided)
	}
	if err != nil {
		return err
	}
	e := stepEntry(led)
	word, _ := e.Result.Sentence()
	w := outcome[record.LoadStep]{wiring.Verdict(word), *e.Result.LoadStep, screen.LoadStep, f.format, e}
	return w.give(c.Context(), a, k)
}

// leadStep reads until the step is seen or the time is over. What to do is said
// on standard error, once the load has been seen to stay.
func (a *app) leadStep(ctx context.Context, s source.Source, o diagnose.Options, f loadstepFlags) (*loadstep.Led, error) {
	o.Tables = diagnose.NewTables()
	keys := a.answers()
	defer keys.end()
	begun := begunStep{options: o, flags: f, by: proofBy(f.expect, keys != nil && s.Live())}
	var led *loadstep.Led
	said := spoken{to: a.stderr}
	for {
		r, err := s.Next(ctx)
		if errors.Is(err, io.EOF) && led != nil {
			led.End()
			return led, nil
		}
		if err == nil {
			led, err = begun.on(led, r)
		}
		// A capture is read to its end: a load that goes on and off in it was nobody's.
		if err != nil || !led.Open() && (s.Live() || led.Outcome == loadstep.Unclear) {
			return led, err
		}
		if led.Outcome == loadstep.Asking {
			theirs, err := keys.yes(ctx, led.Question)
			if err != nil {
				return nil, err
			}
			led.Answer(theirs, time.Now())
			continue
		}
		if led.Open() && led.Ready() {
			said.ask(led.Ask(), f.within)
			said.note(led.Note)
		}
		if s.Live() {
			if err := pause(ctx, f.interval); err != nil {
				return nil, err
			}
		}
	}
}

// proofBy is how a load is known to be the person's.
func proofBy(expect loadstep.Size, answers bool) loadstep.Proof {
	switch {
	case expect != loadstep.Size{}:
		return loadstep.Sized
	case answers:
		return loadstep.Asked
	}
	return loadstep.Twice
}

// spoken says each thing once.
type spoken struct {
	to           io.Writer
	asked, noted string
}

func (k *spoken) ask(text string, within time.Duration) {
	if text != k.asked {
		fmt.Fprintf(k.to, "%s, by its own switch or breaker, panel closed; waiting %s\n", text, within)
	}
	k.asked = text
}

func (k *spoken) note(text string) {
	if text != k.noted && text != "" {
		fmt.Fprintln(k.to, text)
	}
	k.noted = text
}

// begunStep is what a load step is begun with.
type begunStep struct {
	options diagnose.Options
	flags   loadstepFlags
	by      loadstep.Proof
}

// on takes one more reading, the first of which begins the step. While a danger
// shows none is begun, and one that is under way is broken off.
func (b *begunStep) on(led *loadstep.Led, r reading.Reading) (*loadstep.Led, error) {
	dangers := loadstep.Dangers(r, b.options)
	switch {
	case len(dangers) > 0 && led == nil:
		return nil, loadstep.Danger{Caution: dangers[0]}
	case len(dangers) > 0:
		led.Break(loadstep.Danger{Caution: dangers[0]})
		return led, nil
	case led == nil:
		service := diagnose.Diagnose([]reading.Reading{r}, b.options).Service.Name
		begun, err := loadstep.Lead(service, b.flags.leg, b.flags.within)
		if err != nil {
			return nil, err
		}
		led, begun.By, begun.Expect = begun, b.by, b.flags.expect
	}
	led.Add(r)
	return led, nil
}

// stepEntry is a led load step as a record holds it. A load that nothing took may
// not have come on: that is no evidence until a person says so.
func stepEntry(l *loadstep.Led) record.Entry {
	out := record.LoadStep{Legwork: 1, Leg: l.Leg, Outcome: l.Outcome.String(), Channels: []int{},
		Says: l.Says, Seen: wiring.Sentences(l.Findings), IfCertain: wiring.Sentences(l.IfCertain)}
	for _, c := range l.Step.Changes {
		out.Channels = append(out.Channels, c.Channel)
	}
	if len(l.Step.Changes) == 1 {
		c := l.Step.Changes[0]
		out.Current = &c.Rise // as the words say it
		if watts, ok := c.Watts.Get(); ok {
			out.Power = &watts
		}
	}
	e := record.Entry{Kind: record.OfLoadStep, Result: &record.Result{LoadStep: &out}}
	if l.Outcome != loadstep.NothingSeen {
		e.Tests = out.Seen
	}
	return e
}
