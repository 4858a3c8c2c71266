package main

import (
	"errors"
	"fmt"
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

// options are those of a diagnosis: from the flags, and from the job sheet where
// METER is one and a flag wasn't given.
func (a *app) options(c *cobra.Command, meter string, f *diagnoseFlags) (diagnose.Options, error) {
	j, err := jobOf(meter)
	if err != nil {
		return diagnose.Options{}, err
	}
	if j != nil && !c.Flags().Changed("seen") {
		if f.seen, err = testsOf(j); err != nil {
			return diagnose.Options{}, err
		}
	}
	o := diagnose.Options{MinCurrent: f.minCurrent, Generation: f.generation == "possible"}
	if j != nil {
		o.VoltageOutputCTs = j.VoltageOutput()
		if j.MinCurrent > 0 && !c.Flags().Changed("min-current") {
			o.MinCurrent = j.MinCurrent
		}
		if !c.Flags().Changed("generation") {
			o.Generation = j.Generation
		}
	}
	for _, text := range f.seen {
		one, err := diagnose.ParseSeen(text)
		if err != nil {
			return o, fmt.Errorf("--seen %w", err)
		}
		o.Seen = append(o.Seen, one)
	}
	return o, nil
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
