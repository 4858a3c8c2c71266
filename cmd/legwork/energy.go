package main

import (
	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/estimate"
	"legwork/cmd/legwork/internal/flags"
	"legwork/cmd/legwork/internal/record"
	"legwork/cmd/legwork/internal/screen"
	"legwork/diagnose/clamp"
	"legwork/diagnose/energy"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

func (a *app) energy() *cobra.Command {
	var f energyFlags
	c := &cobra.Command{
		Use:     "energy [METER]",
		GroupID: "paper",
		Short:   "Estimate the true energy behind what a wiring fault registered",
		Long: "Gives the true energy with an interval, the correction factor K and its conditions, from\n" +
			"what was registered and how: the verdict on a METER or capture, --registration, or an\n" +
			"arrangement to --assume with a range of loads; --as-found takes the fault that a job's\n" +
			"record holds. Only authorised parties may adjust bills.\n" +
			"Exit status: 0 an estimate, or nothing to correct; 1 an estimate, and the METER shows a\n" +
			"fault; 2 the command, a file or a value was wrong; 3 no estimate is possible; 4 the meter\n" +
			"could not be read.",
		Example:           `legwork energy --registered "10000 kWh" --assume "input 3 dead" --pf 0.9`,
		Args:              orKeep("a METER, --registration or --assume", "registration", "assume"),
		ValidArgsFunction: completeMeters,
		RunE:              func(c *cobra.Command, args []string) error { return a.runEnergy(c, args, f) },
	}
	f.addSamples(c, steadiness)
	f.addJudging(c)
	f.addFindings(c)
	f.addKeep(c)
	f.addOwn(c)
	return c
}

type energyFlags struct {
	sampleFlags
	judgeFlags
	keepFlags
	registered, before, after reading.Value // Wh
	multiplier                float64
	registration, low, high   float64
	assume                    string
	load                      estimate.Load
	periods                   flags.List[energy.Period]
	sameTime, asFound         bool
	class                     energy.CTs
	ct                        clamp.Rating
}

func (f *energyFlags) addOwn(c *cobra.Command) {
	g := c.Flags()
	g.Var(flags.Text(&f.registered, "", parseEnergy), "registered", "`ENERGY` that was registered, such as \"10000 kWh\"")
	g.Var(flags.Text(&f.before, "", parseEnergy), "before",
		"register `READ` before, with --after in place of --registered")
	g.Var(flags.Text(&f.after, "", parseEnergy), "after", "register `READ` after")
	g.Var(flags.Float(&f.multiplier, 1, flags.Above(1e7, "a ratio above 0")), "multiplier", "of both reads")
	g.Float64Var(&f.registration, "registration", 0, "registered over true energy, such as 0.33")
	g.Float64Var(&f.low, "low", 0, "its lower bound, 95 times in 100")
	g.Float64Var(&f.high, "high", 0, "its upper bound")
	g.StringVar(&f.assume, "assume", "", "`FAULTS` that are assumed, a comma list such as \"ct 1 reversed\"")
	g.Var(flags.Text(&f.load.PowerFactor, "0.8..1", estimate.ParsePowerFactor), "pf",
		"power factor of the assumed load, or its range; lagging unless it says lead")
	g.Var(flags.Text(&f.load.Unbalance, "20 %", energy.ParseUnbalance), "unbalance",
		"how far an assumed leg's current may be from the mean")
	g.Var(flags.Text(&f.load.Sequence, "ABC", estimate.ParseSequence), "sequence", "of the assumed legs, ABC or ACB")
	g.Var(flags.Each(&f.periods, energy.ParsePeriod), "period",
		"`PART` at a price, such as \"peak: 30000 kWh at 0.60\"; once for each")
	g.BoolVar(&f.asFound, "as-found", false,
		"by the readings and the verdict as found that the record of a job holds, METER or --keep its sheet")
	g.BoolVar(&f.sameTime, "same-time", false,
		"the capture was taken while the energy was registered: its mean load counts")
	g.Var(flags.Text(&f.class, "", energy.ParseClass), "ct-class",
		"accuracy `CLASS` of the CTs, such as 0.5; else class 1 or better")
	g.Var(flags.Text(&f.ct, "", clamp.ParseRating), "ct", "`RATING` of the CTs, such as 200/5; else the meter's own")
	complete(c, "assume", energy.AssumedFaultExamples())
	complete(c, "sequence", []string{"ABC", "ACB"})
}

func parseEnergy(text string) (reading.Value, error) {
	wh, err := energy.ParseEnergy(text)
	return reading.Known(wh), err
}

func (a *app) runEnergy(c *cobra.Command, args []string, f energyFlags) error {
	by, err := f.known()
	if err != nil {
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
	f.Service = k.ServiceOr(f.Service)
	q, err := a.question(c, way, &f, asked{f.meterOf(args), by, k})
	if err != nil {
		return err
	}
	q.Periods = f.periods.Values
	r, err := energy.Estimate(q)
	if err != nil {
		return err
	}
	e := record.Entry{Kind: record.OfEnergy, Result: &record.Result{Energy: &r}}
	w := outcome[energy.Result]{r.Verdict, r, screen.Energy, f.format, e}
	if r.Verdict == wiring.Fault && way != byMeter {
		w.verdict = wiring.Agrees // no METER shows it
	}
	return w.give(c.Context(), a, k)
}
