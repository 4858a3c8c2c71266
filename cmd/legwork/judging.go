package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/flags"
	"legwork/cmd/legwork/internal/job"
	"legwork/cmd/legwork/internal/keep"
	"legwork/diagnose"
)

// judgeFlags are those of the commands that judge wiring.
type judgeFlags struct {
	minCurrent float64
	generation string
	load       []diagnose.LoadSort
	findings   flags.List[diagnose.Finding]
	voltageCTs bool
}

func (j *judgeFlags) addJudging(c *cobra.Command) {
	c.Flags().Var(flags.Float(&j.minCurrent, diagnose.DefaultMinCurrent, flags.Above(1e6, "a current above 0, in A")),
		"min-current", "A below which a channel isn't judged")
	choice{&j.generation, "generation", "`unknown`, none or possible: solar, a battery or a generator that may give power back",
		[]string{"unknown", "none", "possible"}}.add(c)
	c.Flags().Var(flags.Text(&j.load, "", diagnose.ParseLoad), "load",
		"what is behind the meter, a comma `LIST` of motors, heating, lighting, electronics, drives, capacitors")
	c.Flags().BoolVar(&j.voltageCTs, "voltage-output-cts", false,
		"the CTs put out a voltage, so that an open one is no danger")
}

func (j *judgeFlags) addFindings(c *cobra.Command) {
	addFindings(c, findingFlag{&j.findings, "seen", diagnose.ParseFinding})
}

// findingFlag is a flag for what tests showed.
type findingFlag struct {
	into *flags.List[diagnose.Finding]
	name string
	read func(string) (diagnose.Finding, error)
}

func addFindings(c *cobra.Command, f findingFlag) {
	c.Flags().Var(flags.Each(f.into, f.read), f.name,
		"what a test showed, such as `\"leg 2 on: channel 3 up\"`; may be repeated")
	complete(c, f.name, diagnose.FindingExamples())
}

// options are the diagnosis's. What no flag gives is taken from the job sheet,
// which may be nil; j.findings then holds every test that counts.
func (j *judgeFlags) options(c *cobra.Command, sheet *job.Job) (diagnose.Options, error) {
	if sheet != nil {
		if err := j.fill(c, sheet); err != nil {
			return diagnose.Options{}, err
		}
	}
	o := diagnose.Options{MinCurrent: j.minCurrent, Generation: diagnose.Generation(j.generation), Load: j.load,
		VoltageOutputCTs: j.voltageCTs, Findings: j.findings.Values}
	if sheet != nil {
		o.CTPrimary = sheet.CTs.Primary
	}
	return o, nil
}

// optionsAt are the diagnosis's of a METER: its own sheet's, or that of --keep.
func (j *judgeFlags) optionsAt(c *cobra.Command, meter string, k *keep.Keeper) (diagnose.Options, error) {
	sheet, err := jobSheet(meter, k)
	if err != nil {
		return diagnose.Options{}, err
	}
	return j.options(c, sheet)
}

// optionsKept opens what --keep names, and gives the diagnosis's options of a METER.
func (a *app) optionsKept(c *cobra.Command, meter string, into keepFlags, j *judgeFlags) (*keep.Keeper,
	diagnose.Options, error) {
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
	if sheet.Generation != "" && !given("generation") {
		j.generation = string(sheet.Generation)
	}
	if sheet.Load != nil && !given("load") {
		j.load = sheet.Load
	}
	if !given("voltage-output-cts") {
		j.voltageCTs = sheet.VoltageOutput()
	}
	if given("seen") {
		return nil
	}
	tests, err := keep.Tests(sheet, waitSaying(c.ErrOrStderr()))
	if err != nil {
		return err
	}
	for _, text := range tests {
		if err := j.findings.Add(text, diagnose.ParseFinding); err != nil {
			return fmt.Errorf("%s: %w", sheet.RecordFile(), err)
		}
	}
	return nil
}
