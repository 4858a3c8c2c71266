package main

import (
	"errors"
	"slices"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/job"
	"legwork/cmd/legwork/internal/record"
	"legwork/cmd/legwork/internal/source"
	"legwork/diagnose"
)

// ofJob puts a job sheet's meter, map and service in place of the sheet; flags
// override them.
func (m *meterFlags) ofJob(file string) (source.Address, error) {
	j, err := job.Load(file)
	if err != nil {
		return source.Address{}, err
	}
	if m.Map == "" && j.Meter.Kind != source.Capture {
		m.Map = j.Map
	}
	if m.Service == "" {
		m.Service = j.Service
	}
	return j.Meter, nil
}

// jobOf loads the job sheet that a METER is, or nil where it is something else.
func jobOf(meter string) (*job.Job, error) {
	address, err := source.Parse(meter)
	if err != nil || address.Kind != source.Job {
		return nil, err
	}
	return job.Load(address.Name)
}

// options are those of a diagnosis; what wasn't given comes from the job sheet
// that METER is. f.seen then holds every test that counts.
func (a *app) options(c *cobra.Command, meter string, f *diagnoseFlags) (diagnose.Options, error) {
	j := judgeFlags{minCurrent: f.minCurrent, generation: f.generation, seen: f.seen}
	o, err := j.optionsOf(c, meter)
	f.seen = j.seen
	return o, err
}

// optionsOf are the diagnosis's, checked, with those of a job sheet where METER
// is one and a flag wasn't given.
func (j *judgeFlags) optionsOf(c *cobra.Command, meter string) (diagnose.Options, error) {
	sheet, err := jobOf(meter)
	if err == nil && sheet != nil {
		err = j.fill(c, sheet)
	}
	if err != nil {
		return diagnose.Options{}, err
	}
	return j.options("")
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
