package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/estimate"
	"legwork/cmd/legwork/internal/keep"
	"legwork/cmd/legwork/internal/source"
	"legwork/diagnose"
	"legwork/diagnose/energy"
)

// way is how the registration is come by.
type way uint8

const (
	byMeter   way = iota // the verdict on a METER
	byRecord             // the verdict as found, of a job's record
	byPerson             // --registration
	byAssumed            // --assume
)

// way finds which is asked for. The sheet of --keep is a METER where nothing else is.
func (f *energyFlags) way(c *cobra.Command, args []string) (way, error) {
	found, ways := byMeter, 0
	for w, asked := range []bool{byMeter: len(args) > 0 && !f.asFound, byRecord: f.asFound,
		byPerson: c.Flags().Changed("registration"), byAssumed: c.Flags().Changed("assume")} {
		if asked {
			found, ways = way(w), ways+1
		}
	}
	if ways > 1 {
		return 0, errors.New("give one of METER, --as-found, --registration and --assume")
	}
	return found, nil
}

// asked is what a question is put together from.
type asked struct {
	meter string // METER, or the sheet of --keep
	by    energy.Known
	keep  *keep.Keeper
}

// question puts together what is asked, by whichever way.
func (a *app) question(c *cobra.Command, by way, f *energyFlags, of asked) (energy.Question, error) {
	switch by {
	case byPerson:
		return f.stated(c, of.by.Registered)
	case byAssumed:
		return f.load.Question(of.by.Registered, f.Service, f.assume)
	case byRecord:
		return asFound(of)
	}
	return a.measured(c, f, of)
}

// stated is by the registration that the flags give.
func (f *energyFlags) stated(c *cobra.Command, wh float64) (energy.Question, error) {
	g := energy.Exactly(f.registration)
	low, high := c.Flags().Changed("low"), c.Flags().Changed("high")
	if low != high {
		return energy.Question{}, errors.New("give both --low and --high, or neither")
	}
	if low {
		g.Low, g.High = f.low, f.high
	}
	return estimate.Stated(wh, g)
}

// asFound is by the record of a job.
func asFound(of asked) (energy.Question, error) {
	if of.meter == "" {
		return energy.Question{}, errors.New("--as-found: say which job: `legwork energy JOB.yaml --as-found`, or with " +
			"--keep JOB.yaml")
	}
	if a, err := source.Parse(of.meter); err != nil || a.Kind != source.Job {
		return energy.Question{}, fmt.Errorf("--as-found is of the record of a job, and %s is no job sheet", of.meter)
	}
	return estimate.AsFound(of.meter, of.by)
}

// measured judges a meter or a capture.
func (a *app) measured(c *cobra.Command, f *energyFlags, of asked) (energy.Question, error) {
	var none energy.Question
	sheet, err := jobSheet(of.meter, of.keep)
	if err != nil {
		return none, err
	}
	options, err := f.options(c, sheet)
	if err != nil {
		return none, err
	}
	s, err := a.openKept(c, of.meter, f.meterFlags, of.keep)
	if err != nil {
		return none, err
	}
	defer s.Close()
	options.Service, options.Line = s.Service(), source.Line(s)
	on := estimate.NewCase(options)
	if err := f.each(c.Context(), s, on.Add); err != nil {
		return none, err
	}
	q, verdict := on.Question(of.by, sheet)
	if n := estimate.FaultFound(sheet); n > 0 && verdict == diagnose.Agrees {
		fmt.Fprintf(a.stderr,
			"note: the wiring agrees now, and entry %d holds a fault as found; --as-found estimates for that\n", n)
	}
	return q, nil
}

// known is what the flags say beside readings.
func (f *energyFlags) known() (energy.Known, error) {
	by := energy.Known{CTs: f.class}
	by.CTs.Primary = f.ct.Primary
	if f.sameTime {
		by.When = energy.SameTime
	}
	var err error
	by.Registered, err = f.wh()
	return by, err
}

// wh is what was registered, or what a register moved with its multiplier.
func (f *energyFlags) wh() (float64, error) {
	registered, whole := f.registered.Get()
	before, begun := f.before.Get()
	after, ended := f.after.Get()
	switch {
	case !whole && !begun && !ended:
		return 0, errors.New(`say what was registered: --registered "10000 kWh", or --before and --after`)
	case whole && (begun || ended):
		return 0, errors.New("give --registered, or --before and --after, not both")
	case whole:
		return registered, nil
	case !begun || !ended:
		return 0, errors.New("a difference needs both --before and --after")
	case before < 0 || after < 0:
		return 0, errors.New("--before and --after: a register counts from 0 up; write what it shows")
	}
	return (after - before) * f.multiplier, nil
}
