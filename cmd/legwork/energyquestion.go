package main

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"legwork/diagnose"
	"legwork/diagnose/clamp"
	"legwork/diagnose/energy"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// question puts together what is asked, by whichever way.
func (a *app) question(c *cobra.Command, args []string, f *energyFlags) (energy.Question, error) {
	stated, assumed := c.Flags().Changed("registration"), c.Flags().Changed("assume")
	ways := 0
	for _, way := range []bool{len(args) > 0, stated, assumed} {
		if way {
			ways++
		}
	}
	switch {
	case ways > 1:
		return energy.Question{}, errors.New("give one of METER, --registration and --assume")
	case stated:
		return f.stated(c)
	case assumed:
		return f.assumed()
	}
	return a.measured(c, args[0], f)
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
	a, err := energy.ParseArrangement(service, f.assume)
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
func (a *app) measured(c *cobra.Command, meter string, f *energyFlags) (energy.Question, error) {
	var none energy.Question
	by := energy.Known{Registered: f.wh}
	if f.sameTime {
		by.When = energy.SameTime
	}
	var err error
	if by.CTs, err = f.cts(); err != nil {
		return none, err
	}
	tests, err := parseSeen(f.seen)
	if err != nil {
		return none, err
	}
	s, err := a.open(c.Context(), c, meter, f.meterFlags)
	if err != nil {
		return none, err
	}
	defer s.Close()
	on := diagnose.New(diagnose.Options{Service: s.Service(), Seen: tests})
	seen := &energy.Seen{}
	primary := 0.0
	err = f.each(c.Context(), s, func(r reading.Reading) {
		on.Add(r)
		seen.Add(r)
		primary = r.CTPrimary.Or(0)
	})
	if err != nil {
		return none, err
	}
	if by.CTs.Primary == 0 {
		by.CTs.Primary = primary
	}
	return energy.OfVerdict(on.Result(), seen, by), nil
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

// parseSeen reads the results of tests.
func parseSeen(texts []string) ([]diagnose.Seen, error) {
	var all []diagnose.Seen
	for _, text := range texts {
		one, err := diagnose.ParseSeen(text)
		if err != nil {
			return nil, fmt.Errorf("--seen %w", err)
		}
		all = append(all, one)
	}
	return all, nil
}
