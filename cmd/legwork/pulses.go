package main

import (
	"context"
	"errors"
	"time"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/record"
	"legwork/cmd/legwork/internal/screen"
	"legwork/cmd/legwork/internal/source"
	"legwork/diagnose/pulses"
	"legwork/probe/reading"
)

func (a *app) pulses() *cobra.Command {
	var f pulsesFlags
	c := &cobra.Command{
		Use:     "pulses METER | pulses --power W",
		GroupID: "look",
		Short:   "Compare the pulse light, counted over a time, with the power",
		Long: "Says by how much the pulse light of a meter and a power differ, with a 95 % interval, and\n" +
			"how long to count for a tolerance. The power is that of a METER's registers, or --power.\n" +
			"Exit status: 0 they agree within the tolerance, 1 they don't, 2 the command, a file or a\n" +
			"value was wrong, 3 the count was too short to say, 4 the meter could not be read.",
		Example:           `legwork pulses sim:kiln-house --constant "1000 imp/kWh" --count 369 --over 40s`,
		Args:              orKeep("a METER or --power", "power"),
		ValidArgsFunction: completeMeters,
		RunE: func(c *cobra.Command, args []string) error {
			meter := f.meterOf(args)
			if len(args) == 0 && c.Flags().Changed("power") {
				meter = ""
			}
			return a.runPulses(c, meter, f)
		},
	}
	f.addSamples(c, steadiness)
	f.addKeep(c)
	f.addOwn(c)
	return c
}

// runPulses compares with a METER, which is empty where --power is given.
func (a *app) runPulses(c *cobra.Command, meter string, f pulsesFlags) error {
	if err := f.check(c, meter != ""); err != nil {
		return err
	}
	k, err := a.keep(c, f.keepFlags)
	if err != nil {
		return err
	}
	var s source.Source
	if meter != "" {
		if s, err = a.openKept(c, meter, f.meterFlags, k); err != nil {
			return err
		}
		defer s.Close()
	}
	power, err := a.countAndPower(c.Context(), s, &f)
	if err != nil {
		return err
	}
	r, err := pulses.Compare(f.counted, power, f.options)
	if err != nil {
		return err
	}
	e := record.Entry{Kind: record.OfPulses, Result: &record.Result{Pulses: &r}}
	return outcome[pulses.Result]{r.Verdict, r, screen.Pulses, f.format, e}.give(c.Context(), a, k)
}

// countAndPower counts in the terminal where that is asked for, and gives the
// power: sampled during the count where both can be.
func (a *app) countAndPower(ctx context.Context, s source.Source, f *pulsesFlags) (pulses.Power, error) {
	if f.tap && s != nil && s.Live() {
		samples, err := a.tapAndSample(ctx, s, f)
		if err != nil {
			return pulses.Power{}, err
		}
		watts, err := wattsOf(samples)
		return pulses.During(watts), err
	}
	if f.tap {
		var err error
		if f.counted, err = a.tap(ctx); err != nil {
			return pulses.Power{}, err
		}
	}
	if s == nil {
		return f.given, nil
	}
	samples, err := f.take(ctx, s)
	if err != nil {
		return pulses.Power{}, err
	}
	watts, err := wattsOf(samples)
	if f.sameTime {
		return pulses.During(watts), err
	}
	return pulses.Before(watts, spanOf(samples), f.counted.Over), err
}

// spanOf is the time from the first sample to the last.
func spanOf(samples []reading.Reading) time.Duration {
	if len(samples) == 0 {
		return 0
	}
	return samples[len(samples)-1].At.Sub(samples[0].At)
}

// wattsOf gives the power of all channels of each sample that has it.
func wattsOf(samples []reading.Reading) ([]float64, error) {
	var all []float64
	for i := range samples {
		if w, ok := samples[i].Watts().Get(); ok {
			all = append(all, w)
		}
	}
	if len(all) == 0 {
		return nil, errors.New("the meter gives no power; its map needs total_power, or power of every channel")
	}
	return all, nil
}
