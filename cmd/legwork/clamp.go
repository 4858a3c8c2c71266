package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/flags"
	"legwork/cmd/legwork/internal/job"
	"legwork/cmd/legwork/internal/record"
	"legwork/cmd/legwork/internal/screen"
	"legwork/diagnose"
	"legwork/diagnose/clamp"
	"legwork/probe/reading"
)

type clampFlags struct {
	sampleFlags
	keepFlags
	readings    []string
	amps, volts []clamp.Read
	options     clamp.Options
}

func (a *app) clamp() *cobra.Command {
	var f clampFlags
	c := &cobra.Command{
		Use:     "clamp METER",
		GroupID: "look",
		Short:   "Set a clamp ammeter's or voltmeter's readings beside the meter's",
		Long: "Compares what was read off a clamp ammeter or a voltmeter with what the meter reads\n" +
			"meanwhile: the ratio of each channel with its 95 % interval, and what may explain it.\n" +
			"Exit status: 0 the ratios are right, 1 one is wrong or legs are exchanged, 2 the command,\n" +
			"a file or a value was wrong, 3 too unsteady or too small to say, 4 the meter could not be read.",
		Example:           `legwork clamp sim:kiln-house --amps 87.3,97.6,92.0`,
		Args:              orKeep("a METER"),
		ValidArgsFunction: completeMeters,
		RunE:              func(c *cobra.Command, args []string) error { return a.runClamp(c, f.meterOf(args), f) },
	}
	f.addSamples(c, steadiness)
	f.addKeep(c)
	c.Flags().StringArrayVar(&f.readings, "reading", nil, "what was read, such as `\"L2 41.3 A\"`; once for each")
	c.Flags().Var(flags.Text(&f.amps, "", listOf(reading.Current)), "amps",
		"what a clamp ammeter showed, A, leg 1 first, such as `87.3,97.6,92.0`")
	c.Flags().Var(flags.Text(&f.volts, "", listOf(reading.Voltage)), "volts",
		"what a voltmeter showed, each leg to neutral, V, such as `121.3,120.8,121.0`")
	c.Flags().Var(flags.Text(&f.options.Accuracy, "2 % + 5 digits", clamp.ParseAccuracy), "accuracy",
		"stated `LIMIT` of the clamp ammeter's error")
	c.Flags().Var(flags.Text(&f.options.VoltAccuracy, "1 % + 3 digits", clamp.ParseAccuracy), "volt-accuracy",
		"stated `LIMIT` of the voltmeter's error")
	c.Flags().Var(flags.Text(&f.options.Set, "", clamp.ParseRating), "ct",
		"`RATING` that the meter is set to, such as 200/5; else the meter's own, or the job sheet's")
	return c
}

func (a *app) runClamp(c *cobra.Command, meter string, f clampFlags) error {
	reads, err := f.reads()
	if err != nil {
		return err
	}
	o := f.options
	k, err := a.keep(c, f.keepFlags)
	if err != nil {
		return err
	}
	s, err := a.openKept(c, meter, f.meterFlags, k)
	if err != nil {
		return err
	}
	defer s.Close()
	samples, err := f.take(c.Context(), s)
	if err != nil {
		return err
	}
	o.Service = serviceOf(s, samples)
	if o.Set.Primary == 0 && !setting(samples) {
		o.Set = ratingOf(k.Sheet())
	}
	if err := clamp.CheckReads(o.Service, reads); err != nil {
		return fmt.Errorf("what was read: %w", err)
	}
	sheet, err := jobSheet(meter, k)
	if err != nil {
		return err
	}
	o.Plate = ratingOf(sheet)
	o.KeepAway = diagnose.Diagnose(samples, diagnose.Options{Service: s.Service()}).KeepAway
	r := clamp.Compare(samples, reads, o)
	e := record.Entry{Kind: record.OfClamp, Result: &record.Result{Clamp: &r}, Tests: clamp.Pairings(r, samples)}
	return outcome[clamp.Result]{r.Verdict, r, screen.Clamp, f.format, e}.give(c.Context(), a, k)
}

// listOf reads the values of one instrument.
func listOf(q reading.Quantity) func(string) ([]clamp.Read, error) {
	return func(text string) ([]clamp.Read, error) { return clamp.ParseList(text, q) }
}

// reads are what was read, in whichever way it is given.
func (f *clampFlags) reads() ([]clamp.Read, error) {
	reads, err := clamp.ParseReads(f.readings)
	if err != nil {
		return nil, fmt.Errorf("--reading %w", err)
	}
	reads = append(append(reads, f.amps...), f.volts...)
	if len(reads) == 0 {
		return nil, errors.New("say what was read, such as --amps 87.3,97.6,92.0 or --reading \"leg 2: 41.3 A\"")
	}
	return reads, clamp.CheckTwice(reads)
}

// setting reports that the meter tells what its CTs are set to.
func setting(samples []reading.Reading) bool {
	return len(samples) > 0 && samples[0].CTPrimary.Known()
}

// ratingOf is the rating of a job's CTs, as far as the sheet tells it.
func ratingOf(j *job.Job) clamp.Rating {
	if j == nil || j.CTs.Primary == 0 {
		return clamp.Rating{}
	}
	r, err := clamp.ParseRating(fmt.Sprintf("%g/%s", j.CTs.Primary, j.CTs.Secondary))
	if err != nil { // no current, or none that is rated
		r = clamp.Rating{Primary: j.CTs.Primary}
	}
	return r
}
