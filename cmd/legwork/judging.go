package main

import (
	"errors"
	"fmt"
	"slices"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/job"
	"legwork/cmd/legwork/internal/record"
	"legwork/diagnose"
)

// judgeFlags are those of the commands that judge wiring.
type judgeFlags struct {
	minCurrent float64
	generation string
	load       string
	seen       []string
	voltageCTs bool
}

func (j *judgeFlags) addJudging(c *cobra.Command) {
	c.Flags().Float64Var(&j.minCurrent, "min-current", diagnose.DefaultMinCurrent, "A below which a channel isn't judged")
	c.Flags().StringVar(&j.generation, "generation", "unknown", "`unknown`, none or possible: solar, a battery, a generator that may give power back")
	c.Flags().StringVar(&j.load, "load", "", "what is behind the meter, a comma `LIST` of motors, heating, lighting, electronics, drives, capacitors")
	c.Flags().BoolVar(&j.voltageCTs, "voltage-output-cts", false, "the CTs put out a voltage, so that an open one is no danger")
	_ = c.RegisterFlagCompletionFunc("generation", cobra.FixedCompletions([]string{"unknown", "none", "possible"}, cobra.ShellCompDirectiveNoFileComp))
}

func (j *judgeFlags) addSeen(c *cobra.Command) {
	c.Flags().StringArrayVar(&j.seen, "seen", nil, "what a test showed, such as `\"leg 2 on: channel 3 up\"`; may be repeated")
	_ = c.RegisterFlagCompletionFunc("seen", cobra.FixedCompletions(diagnose.FindingExamples(), cobra.ShellCompDirectiveNoFileComp))
}

// options are the diagnosis's, checked. What no flag gives is taken from the job
// sheet, which may be nil; j.seen then holds every test that counts.
func (j *judgeFlags) options(c *cobra.Command, sheet *job.Job) (diagnose.Options, error) {
	if sheet != nil {
		if err := j.fill(c, sheet); err != nil {
			return diagnose.Options{}, err
		}
	}
	o := diagnose.Options{MinCurrent: j.minCurrent, VoltageOutputCTs: j.voltageCTs}
	var err error
	if o.Generation, err = diagnose.ParseGeneration(j.generation); err != nil {
		return o, fmt.Errorf("--generation %w", err)
	}
	if o.Load, err = diagnose.ParseLoad(j.load); err != nil {
		return o, fmt.Errorf("--load %w", err)
	}
	if sheet != nil {
		o.CTPrimary = sheet.CTs.Primary
	}
	if !(j.minCurrent > 0) || j.minCurrent > 1e6 {
		return o, fmt.Errorf("--min-current %g is not a current above 0, in A", j.minCurrent)
	}
	for _, text := range j.seen {
		one, err := diagnose.ParseFinding(text)
		if err != nil {
			return o, fmt.Errorf("--seen %w", err)
		}
		o.Findings = append(o.Findings, one)
	}
	return o, nil
}

// optionsAt are the diagnosis's of a METER: its own sheet's, or that of --keep.
func (j *judgeFlags) optionsAt(c *cobra.Command, meter string, k *keeping) (diagnose.Options, error) {
	sheet, err := jobOf(meter)
	if err != nil {
		return diagnose.Options{}, err
	}
	if sheet == nil {
		sheet = k.sheet()
	}
	return j.options(c, sheet)
}

// optionsKept opens what --keep names, and gives the diagnosis's options of a METER.
func (a *app) optionsKept(c *cobra.Command, meter string, into keepFlags, j *judgeFlags) (*keeping, diagnose.Options, error) {
	k, err := a.keep(c, into)
	if err != nil {
		return nil, diagnose.Options{}, err
	}
	o, err := j.optionsAt(c, meter, k)
	return k, o, err
}

// fill takes from a job sheet what no flag gives.
func (j *judgeFlags) fill(c *cobra.Command, sheet *job.Job) error {
	given := c.Flags().Changed
	if sheet.MinCurrent > 0 && !given("min-current") {
		j.minCurrent = sheet.MinCurrent
	}
	if sheet.Generation && !given("generation") {
		j.generation = "possible"
	}
	if !given("voltage-output-cts") {
		j.voltageCTs = sheet.VoltageOutput()
	}
	var err error
	if !given("seen") {
		j.seen, err = testsOf(sheet)
	}
	return err
}

// testsOf lists the results of tests that hold for the wiring as it is now:
// those of the sheet and of its record, or where something was moved only those
// noted after that.
func testsOf(j *job.Job) ([]string, error) {
	log, err := record.At(j.RecordFile()).Read()
	if errors.Is(err, record.ErrNone) {
		return j.SeenTexts, nil
	}
	if err != nil {
		return nil, err
	}
	tests, moved := log.TestsSinceMove()
	if moved {
		return tests, nil
	}
	return slices.Concat(j.SeenTexts, tests), nil
}
