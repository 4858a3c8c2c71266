package main

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/job"
	"legwork/diagnose"
	"legwork/diagnose/clamp"
	"legwork/diagnose/energy"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
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
	f.meter = f.meterOf(args)
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

// question puts together what is asked, by whichever way.
func (a *app) question(c *cobra.Command, by way, f *energyFlags, k *keeping) (energy.Question, error) {
	if sheet := k.sheet(); sheet != nil && f.Service == "" {
		f.Service = sheet.Service
	}
	switch by {
	case byPerson:
		return f.stated(c)
	case byAssumed:
		return f.assumed()
	case byRecord:
		return f.recorded()
	}
	return a.measured(c, f, k)
}

func (f *energyFlags) stated(c *cobra.Command) (energy.Question, error) {
	g := energy.Exactly(f.registration)
	low, high := c.Flags().Changed("low"), c.Flags().Changed("high")
	if low != high {
		return energy.Question{}, errors.New("give both --low and --high, or neither")
	}
	if low {
		g.Low, g.High = f.low, f.high
	}
	if err := g.Check(); err != nil {
		return energy.Question{}, fmt.Errorf("--registration: %w", err)
	}
	return energy.Question{Registered: f.wh, Registration: &g, Basis: energy.FromPerson, Words: "a registration that was given", Conditions: "as given"}, nil
}

// assumed works out the registration of an arrangement over a range of loads.
func (f *energyFlags) assumed() (energy.Question, error) {
	var none energy.Question
	name := f.Service
	if name == "" {
		name = "120/208Y"
	}
	service, err := wiring.ParseService(name)
	if err != nil {
		return none, fmt.Errorf("--service %w", err)
	}
	a, err := energy.ParseAssumedFault(service, f.assume)
	if err != nil {
		return none, fmt.Errorf("--assume %w", err)
	}
	load := energy.Load{Sequence: wiring.Forward}
	if load.Lag, err = energy.ParsePowerFactor(f.pf); err != nil {
		return none, fmt.Errorf("--pf %w", err)
	}
	if load.Unbalance, err = energy.ParseUnbalance(f.unbalance); err != nil {
		return none, fmt.Errorf("--unbalance %w", err)
	}
	switch strings.ToUpper(f.sequence) {
	case "ABC":
	case "ACB":
		load.Sequence = wiring.Backward
	default:
		return none, fmt.Errorf("--sequence %q is not ABC or ACB", f.sequence)
	}
	g := a.Registration(load)
	conditions := "balanced"
	if load.Unbalance > 0 {
		conditions = fmt.Sprintf("each leg within %g %% of the mean", 100*load.Unbalance)
	}
	conditions += fmt.Sprintf(", power factor %s, %s %s", f.pf, service.Name, load.Sequence)
	return energy.Question{Registered: f.wh, Registration: &g, Basis: energy.FromAssumed, Words: a.String(), Conditions: conditions}, nil
}

// measured judges a meter or a capture.
func (a *app) measured(c *cobra.Command, f *energyFlags, k *keeping) (energy.Question, error) {
	var none energy.Question
	sheet, err := jobOf(f.meter)
	if err != nil {
		return none, err
	}
	if sheet == nil {
		sheet = k.sheet()
	}
	by, err := f.known(sheet)
	if err != nil {
		return none, err
	}
	options, err := f.options(c, sheet)
	if err != nil {
		return none, err
	}
	s, err := a.openKept(c, f.meter, f.meterFlags, k)
	if err != nil {
		return none, err
	}
	defer s.Close()
	options.Service = s.Service()
	on := diagnose.New(options)
	observed := &energy.Observations{}
	primary := 0.0
	err = f.each(c.Context(), s, func(r reading.Reading) {
		on.Add(r)
		observed.Add(r)
		primary = r.CTPrimary.Or(0)
	})
	if err != nil {
		return none, err
	}
	if by.CTs.Primary == 0 {
		by.CTs.Primary = primary
	}
	r := on.Result()
	if r.Verdict == diagnose.Agrees {
		a.hintAsFound(sheet)
	}
	return energy.OfVerdict(r, observed, by), nil
}

// known is what is known beside readings; the rating of the CTs is the sheet's
// where no flag gives it.
func (f *energyFlags) known(sheet *job.Job) (energy.Known, error) {
	by := energy.Known{Registered: f.wh}
	if f.sameTime {
		by.When = energy.SameTime
	}
	var err error
	by.CTs, err = f.cts()
	if by.CTs.Primary == 0 && sheet != nil {
		by.CTs.Primary = sheet.CTs.Primary
	}
	return by, err
}

func (f *energyFlags) cts() (energy.CTs, error) {
	cts, err := energy.ParseClass(f.class)
	if err != nil {
		return cts, fmt.Errorf("--ct-class %w", err)
	}
	if f.ct != "" {
		rating, err := clamp.ParseRating(f.ct)
		if err != nil {
			return cts, fmt.Errorf("--ct %w", err)
		}
		cts.Primary = rating.Primary
	}
	return cts, nil
}
