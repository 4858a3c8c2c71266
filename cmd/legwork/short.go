package main

import (
	"context"
	"errors"
	"fmt"
	"sync"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/screen"
	"legwork/cmd/legwork/internal/source"
	"legwork/probe/regmap"
)

// completed is what a METER in short turned out to be.
type completed struct {
	address source.Address
	sunspec bool // it describes itself
}

// address takes a METER apart; in place of a job sheet it gives the meter that
// the sheet names. What a METER in short leaves out is looked for once.
func (a *app) address(c *cobra.Command, meter string, m *meterFlags) (source.Address, error) {
	address, err := m.address(meter)
	if err != nil || !address.Short() {
		return address, err
	}
	known, is := a.found[address.Text]
	if !is {
		if known.address, err = a.complete(c, address, m); err != nil {
			return address, err
		}
		a.found[address.Text] = known
	}
	if known.sunspec && m.Map == "" {
		m.Map = source.SunSpecMap
	}
	return known.address, nil
}

// complete looks for what a METER in short leaves out, and says what it found.
func (a *app) complete(c *cobra.Command, short source.Address, m *meterFlags) (source.Address, error) {
	o := m.Options
	p := a.progress()
	o.Seeking.Step = p.step
	if c.Flags().Changed("timeout") {
		o.Seeking.Timeout = m.Timeout
	}
	whole, err := source.Complete(c.Context(), short, o)
	p.end()
	var none source.NotFound
	switch {
	case errors.As(err, &none):
		screen.NotFound(a.stderr, none.Where, none.Result)
		return short, status(exitUnread)
	case err != nil:
		return short, err
	}
	fmt.Fprintf(a.stderr, "%s is %s\n", short.Text, whole.Text)
	return whole, nil
}

// describesItself tries SunSpec on a meter of which no register map is named, and
// says so. A METER in full wants its map named.
func (a *app) describesItself(c *cobra.Command, meter string, m *meterFlags) error {
	short, err := m.address(meter)
	if err != nil || !short.Short() || m.Map != "" {
		return err
	}
	known := a.found[short.Text]
	if _, known.sunspec = a.trySunSpec(c.Context(), known.address, m.Options); !known.sunspec {
		return fmt.Errorf("%s: it does not follow SunSpec; say with --map FILE which registers hold what",
			known.address.Text)
	}
	a.found[short.Text] = known
	fmt.Fprintf(a.stderr, "%s follows SunSpec: --map sunspec\n", known.address.Text)
	m.Map = source.SunSpecMap
	return nil
}

// trySunSpec asks a meter whether it describes itself by that standard.
func (a *app) trySunSpec(ctx context.Context, at source.Address, o source.Options) (*regmap.Map, bool) {
	p := a.progress()
	defer p.end()
	o.Asking = p.asking
	return source.SunSpec(ctx, at, o)
}

// toldInFull says of each meter of a list that is named in short which it is.
func (a *app) toldInFull() func(name, meter string) {
	var one sync.Mutex
	return func(name, meter string) {
		one.Lock()
		defer one.Unlock()
		fmt.Fprintf(a.stderr, "%s is %s\n", name, meter)
	}
}
