package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"time"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/source"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// sampleFlags are those of commands that compare a meter with something else.
type sampleFlags struct {
	meterFlags
	format   string
	samples  int
	interval time.Duration
}

// usualSamples are taken of a meter where no number is given: enough to see how
// steady its load is.
const usualSamples = 5

func (f *sampleFlags) add(c *cobra.Command) {
	f.meterFlags.add(c)
	addFormat(c, &f.format)
	c.Flags().IntVar(&f.samples, "samples", 0, fmt.Sprintf("readings to take `N`; else %d of a meter, all of a capture", usualSamples))
	c.Flags().DurationVar(&f.interval, "interval", time.Second, "time between two readings")
}

// addFormat adds the flag of a result that is told as text or JSON.
func addFormat(c *cobra.Command, format *string) {
	c.Flags().StringVar(format, "format", "text", "`text` or json")
	_ = c.RegisterFlagCompletionFunc("format", cobra.FixedCompletions([]string{"text", "json"}, cobra.ShellCompDirectiveNoFileComp))
}

func checkFormat(format string) error {
	if format != "text" && format != "json" {
		return fmt.Errorf("--format %q is not text or json", format)
	}
	return nil
}

func (f *sampleFlags) check() error {
	switch {
	case f.samples < 0:
		return fmt.Errorf("--samples %d: take at least 1", f.samples)
	case f.interval < 0:
		return fmt.Errorf("--interval %s is below zero", f.interval)
	}
	return checkFormat(f.format)
}

// each hands on the readings of a source: as many as asked for, or the usual
// number of a meter and all of a capture.
func (f *sampleFlags) each(ctx context.Context, s source.Source, add func(reading.Reading)) error {
	most := f.samples
	if most == 0 && s.Live() {
		most = usualSamples
	}
	for n := 0; most == 0 || n < most; n++ {
		if n > 0 && s.Live() {
			if err := pause(ctx, f.interval); err != nil {
				return err
			}
		}
		r, err := s.Next(ctx)
		if !s.Live() && errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		add(r)
	}
	return nil
}

// take gives the samples that each hands on.
func (f *sampleFlags) take(ctx context.Context, s source.Source) ([]reading.Reading, error) {
	var all []reading.Reading
	err := f.each(ctx, s, func(r reading.Reading) { all = append(all, r) })
	return all, err
}

// serviceOf is the service that is declared, on the command line or in the
// samples; the zero service where none is.
func serviceOf(s source.Source, samples []reading.Reading) wiring.Service {
	names := []string{s.Service()}
	if len(samples) > 0 {
		names = append(names, samples[0].Service)
	}
	for _, name := range names {
		if found, err := wiring.ParseService(name); err == nil {
			return found
		}
	}
	return wiring.Service{}
}

// tell writes a result as JSON, or as text by its own function.
func (a *app) tell(format string, result any, text func(io.Writer) error) error {
	if format == "json" {
		return json.NewEncoder(a.stdout).Encode(result)
	}
	return text(a.stdout)
}

// verdictStatus is the exit status of a verdict's word.
func verdictStatus(word string) error {
	switch word {
	case "agrees":
		return nil
	case "fault":
		return status(exitFault)
	}
	return status(exitUndecided)
}
