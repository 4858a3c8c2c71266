package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/record"
	"legwork/cmd/legwork/internal/screen"
	"legwork/diagnose/energy"
	"legwork/diagnose/wiring"
)

type energyFlags struct {
	sampleFlags
	judgeFlags
	keepFlags
	registered, before, after string
	multiplier                float64
	registration, low, high   float64
	assume, pf, unbalance     string
	sequence                  string
	periods                   []string
	sameTime, asFound         bool
	class, ct                 string

	meter string  // METER, or the sheet of --keep
	wh    float64 // as read
	parts []energy.Period
}

func (a *app) energy() *cobra.Command {
	var f energyFlags
	c := &cobra.Command{
		Use:     "energy [METER]",
		GroupID: "paper",
		Short:   "Estimate the true energy behind what a wiring fault registered",
		Long: "Gives the true energy with an interval, the correction factor K and its conditions, from\n" +
			"what was registered and how: the verdict on a METER or capture, --registration, or an\n" +
			"arrangement to --assume with a range of loads; --as-found takes the fault that a job's\n" +
			"record holds. Adjusting bills is for those the law names.\n" +
			"Exit status: 0 an estimate, or nothing to correct; 1 an estimate, and the METER shows a\n" +
			"fault; 2 the command, a file or a value was wrong; 3 no estimate is possible; 4 the meter\n" +
			"could not be read.",
		Example: `legwork energy --registered "10000 kWh" --assume "input 3 dead" --pf 0.9`,
		Args: func(c *cobra.Command, args []string) error {
			if len(args) == 0 && (c.Flags().Changed("registration") || c.Flags().Changed("assume")) {
				return nil
			}
			return orKeep("a METER, --registration or --assume")(c, args)
		},
		ValidArgsFunction: completeMeters,
		RunE:              func(c *cobra.Command, args []string) error { return a.runEnergy(c, args, f) },
	}
	f.addSamples(c, steadiness)
	f.addJudging(c)
	f.addSeen(c)
	f.addKeep(c)
	f.addOwn(c)
	return c
}

func (f *energyFlags) addOwn(c *cobra.Command) {
	flags := c.Flags()
	flags.StringVar(&f.registered, "registered", "", "`ENERGY` that was registered, such as \"10000 kWh\"")
	flags.StringVar(&f.before, "before", "", "register `READ` before, with --after in place of --registered")
	flags.StringVar(&f.after, "after", "", "register `READ` after")
	flags.Float64Var(&f.multiplier, "multiplier", 1, "of both reads")
	flags.Float64Var(&f.registration, "registration", 0, "registered over true energy, such as 0.33")
	flags.Float64Var(&f.low, "low", 0, "its lower bound, 95 times in 100")
	flags.Float64Var(&f.high, "high", 0, "its upper bound")
	flags.StringVar(&f.assume, "assume", "", "`FAULTS` that are assumed, a comma list such as \"ct 1 reversed\"")
	flags.StringVar(&f.pf, "pf", "0.8..1", "power factor of the assumed load, or its range; lagging unless it says lead")
	flags.StringVar(&f.unbalance, "unbalance", "20 %", "how far an assumed leg's current may be from the mean")
	flags.StringVar(&f.sequence, "sequence", "ABC", "of the assumed legs, ABC or ACB")
	flags.StringArrayVar(&f.periods, "period", nil, "`PART` at a price, such as \"peak: 30000 kWh at 0.60\"; once for each")
	flags.BoolVar(&f.asFound, "as-found", false, "by the readings and the verdict as found that the record of a job holds, METER or --keep its sheet")
	flags.BoolVar(&f.sameTime, "same-time", false, "the capture was taken while the energy was registered: its mean load counts")
	flags.StringVar(&f.class, "ct-class", "", "accuracy `CLASS` of the CTs, such as 0.5; else class 1 or better")
	flags.StringVar(&f.ct, "ct", "", "`RATING` of the CTs, such as 200/5; else the meter's own")
	_ = c.RegisterFlagCompletionFunc("assume", cobra.FixedCompletions(energy.AssumedFaultExamples(), cobra.ShellCompDirectiveNoFileComp))
	_ = c.RegisterFlagCompletionFunc("sequence", cobra.FixedCompletions([]string{"ABC", "ACB"}, cobra.ShellCompDirectiveNoFileComp))
}

func (a *app) runEnergy(c *cobra.Command, args []string, f energyFlags) error {
	if err := f.readEnergy(); err != nil {
		return err
	}
	k, err := a.keep(c, f.keepFlags)
	if err != nil {
		return err
	}
	way, err := f.way(c, args)
	if err != nil {
		return err
	}
	q, err := a.question(c, way, &f, k)
	if err != nil {
		return err
	}
	q.Periods = f.parts
	r, err := energy.Estimate(q)
	if err != nil {
		return err
	}
	e := record.Entry{Kind: record.OfEnergy, Result: &record.Result{Energy: &r}}
	if err := (outcome[energy.Result]{r, screen.Energy, f.format, e}).give(c.Context(), a, k); err != nil {
		return err
	}
	if r.Verdict == wiring.Fault && way != byMeter {
		return nil
	}
	return verdictStatus(r.Verdict)
}

// readEnergy reads what was registered, and its periods.
func (f *energyFlags) readEnergy() (err error) {
	if err := f.check(); err != nil {
		return err
	}
	reads := f.before != "" || f.after != ""
	switch {
	case f.registered == "" && !reads:
		return errors.New(`say what was registered: --registered "10000 kWh", or --before and --after`)
	case f.registered != "" && reads:
		return errors.New("give --registered, or --before and --after, not both")
	case reads:
		f.wh, err = f.difference()
	default:
		if f.wh, err = energy.ParseEnergy(f.registered); err != nil {
			err = fmt.Errorf("--registered %w", err)
		}
	}
	if err != nil {
		return err
	}
	for _, text := range f.periods {
		p, err := energy.ParsePeriod(text)
		if err != nil {
			return fmt.Errorf("--period %w", err)
		}
		f.parts = append(f.parts, p)
	}
	return nil
}

// difference is what a register moved, with its multiplier.
func (f *energyFlags) difference() (float64, error) {
	if f.before == "" || f.after == "" {
		return 0, errors.New("a difference needs both --before and --after")
	}
	if !(f.multiplier > 0) || f.multiplier > 1e7 {
		return 0, fmt.Errorf("--multiplier %g is not a ratio above 0", f.multiplier)
	}
	before, err := energy.ParseEnergy(f.before)
	if err != nil {
		return 0, fmt.Errorf("--before %w", err)
	}
	after, err := energy.ParseEnergy(f.after)
	if err != nil {
		return 0, fmt.Errorf("--after %w", err)
	}
	if before < 0 || after < 0 {
		return 0, errors.New("--before and --after: a register counts from 0 up; write what it shows")
	}
	return (after - before) * f.multiplier, nil
}
