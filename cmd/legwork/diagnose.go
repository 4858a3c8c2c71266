package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"time"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/screen"
	"legwork/cmd/legwork/internal/source"
	"legwork/diagnose"
)

type diagnoseFlags struct {
	meterFlags
	format     string
	samples    int
	interval   time.Duration
	minCurrent float64
	generation string
	seen       []string
}

func (a *app) diagnose() *cobra.Command {
	var f diagnoseFlags
	c := &cobra.Command{
		Use:     "diagnose METER",
		GroupID: "look",
		Short:   "Judge a meter's wiring, and say what to move",
		Long: "Reads a meter, or a capture, and says which arrangement of its conductors explains\n" +
			"the readings. Exit status: 0 the wiring agrees, 1 a fault was found, 2 the command, a\n" +
			"file or a value was wrong, 3 undecided, 4 the meter could not be read.",
		Example:           "legwork diagnose sim:kiln-house --fault ct2-reversed",
		Args:              oneArgument("a METER"),
		ValidArgsFunction: completeMeters,
		RunE: func(c *cobra.Command, args []string) error {
			return a.runDiagnose(c, args[0], f)
		},
	}
	f.add(c)
	f.addJudging(c)
	return c
}

// addJudging adds the flags of every command that judges.
func (f *diagnoseFlags) addJudging(c *cobra.Command) {
	c.Flags().StringVar(&f.format, "format", "text", "`text` or json")
	c.Flags().IntVar(&f.samples, "samples", 0, "readings to take `N`; else one of a meter, all of a capture")
	c.Flags().DurationVar(&f.interval, "interval", time.Second, "time between two readings")
	c.Flags().Float64Var(&f.minCurrent, "min-current", diagnose.DefaultMinCurrent, "A below which a channel isn't judged")
	c.Flags().StringVar(&f.generation, "generation", "none", "`none` or possible: whether power may flow back to the supply")
	c.Flags().StringArrayVar(&f.seen, "seen", nil, "what a test showed, such as `\"leg 2 on: channel 3 up\"`; may be repeated")
	_ = c.RegisterFlagCompletionFunc("seen", cobra.FixedCompletions(diagnose.SeenExamples(), cobra.ShellCompDirectiveNoFileComp))
	_ = c.RegisterFlagCompletionFunc("generation", cobra.FixedCompletions([]string{"none", "possible"}, cobra.ShellCompDirectiveNoFileComp))
	_ = c.RegisterFlagCompletionFunc("format", cobra.FixedCompletions([]string{"text", "json"}, cobra.ShellCompDirectiveNoFileComp))
}

func (f *diagnoseFlags) check() error {
	switch {
	case f.format != "text" && f.format != "json":
		return fmt.Errorf("--format %q is not text or json", f.format)
	case f.generation != "none" && f.generation != "possible":
		return fmt.Errorf("--generation %q is not none or possible", f.generation)
	case f.samples < 0:
		return fmt.Errorf("--samples %d: take at least 1", f.samples)
	case f.interval < 0:
		return fmt.Errorf("--interval %s is below zero", f.interval)
	case !(f.minCurrent > 0) || f.minCurrent > 1e6:
		return fmt.Errorf("--min-current %g is not a current above 0, in A", f.minCurrent)
	}
	return nil
}

func (a *app) runDiagnose(c *cobra.Command, meter string, f diagnoseFlags) error {
	if err := f.check(); err != nil {
		return err
	}
	options, err := a.options(c, meter, &f)
	if err != nil {
		return err
	}
	s, err := a.open(c.Context(), c, meter, f.meterFlags)
	if err != nil {
		return err
	}
	defer s.Close()
	options.Service = s.Service()
	on := diagnose.New(options)
	if err := gather(c.Context(), s, on, f); err != nil {
		return err
	}
	r := on.Result()
	if f.format == "json" {
		err = json.NewEncoder(a.stdout).Encode(r)
	} else {
		err = screen.Verdict(a.stdout, r, a.style())
	}
	if err != nil {
		return err
	}
	return verdictStatus(string(r.Verdict))
}

// gather hands readings to the case: as many as asked for, or one of a meter
// and all of a capture.
func gather(ctx context.Context, s source.Source, on *diagnose.Case, f diagnoseFlags) error {
	most := f.samples
	if most == 0 && s.Live() {
		most = 1
	}
	for n := 0; most == 0 || n < most; n++ {
		if n > 0 && s.Live() {
			if err := pause(ctx, f.interval); err != nil {
				return err
			}
		}
		r, err := s.Next(ctx)
		if !s.Live() && errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		on.Add(r)
	}
	return nil
}

var errInterrupted = errors.New("interrupted")

// pause lets d go by unless the command is interrupted.
func pause(ctx context.Context, d time.Duration) error {
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-t.C:
		return nil
	case <-ctx.Done():
		return errInterrupted
	}
}
