package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/flags"
	"legwork/cmd/legwork/internal/round"
	"legwork/cmd/legwork/internal/source"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// sampleFlags are those of commands that take some readings and say what they mean.
type sampleFlags struct {
	meterFlags
	format   string
	samples  int
	interval time.Duration
	usual    int // readings of a meter where no number is given
}

// steadiness is how many samples show how steady a load is.
const steadiness = 5

// addSamples adds the flags; usual is how many readings are taken of a meter
// where no number is given.
func (f *sampleFlags) addSamples(c *cobra.Command, usual int) {
	f.usual = usual
	f.meterFlags.add(c)
	addFormat(c, &f.format)
	c.Flags().Var(flags.Int(&f.samples, 0, isCount), "samples",
		fmt.Sprintf("readings to take `N`; else %d of a meter, all of a capture", usual))
	c.Flags().Var(flags.Duration(&f.interval, time.Second, flags.FromZero), "interval", "time between two readings")
}

func isCount(n int) error { return flags.Unless(n < 0, "%d: take at least 1", n) }

// each hands on the readings of a source: as many as asked for, or the usual
// number of a meter and all of a capture.
func (f *sampleFlags) each(ctx context.Context, s source.Source, add func(reading.Reading)) error {
	most := f.samples
	if most == 0 && s.Live() {
		most = f.usual
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
	t := thinned{every: 1}
	err := f.each(ctx, s, t.add)
	return t.all, err
}

// mostTaken are the samples that are held at once; our choice. A capture of days
// says no less with every eighth of its readings.
const mostTaken = 20_000

// thinned holds samples at even distances, more of them apart the more there are.
type thinned struct {
	all      []reading.Reading
	every, n int
}

func (t *thinned) add(r reading.Reading) {
	if t.n++; (t.n-1)%t.every != 0 {
		return
	}
	if len(t.all) == mostTaken {
		for i := range mostTaken / 2 {
			t.all[i] = t.all[2*i]
		}
		clear(t.all[mostTaken/2:])
		t.all, t.every = t.all[:mostTaken/2], 2*t.every
	}
	t.all = append(t.all, r)
}

var errInterrupted = errors.New("interrupted")

// pause lets d go by unless the command is interrupted.
func pause(ctx context.Context, d time.Duration) error {
	if !round.Wait(ctx, d) {
		return errInterrupted
	}
	return nil
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
