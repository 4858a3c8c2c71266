package main

import (
	"cmp"
	"context"
	"time"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/flags"
	"legwork/cmd/legwork/internal/job"
	"legwork/cmd/legwork/internal/keep"
	"legwork/cmd/legwork/internal/source"
	"legwork/sim"
)

// meterFlags are those of every command that takes a METER.
type meterFlags struct{ source.Options }

func (m *meterFlags) add(c *cobra.Command) {
	f := c.Flags()
	f.StringVar(&m.Map, "map", "", "register map `FILE`, or sunspec for a meter that follows that standard")
	serviceFlag(c, &m.Service, "service `NAME`, such as 120/208Y; else it is taken from the voltages")
	f.Var(flags.Text(&m.Unit, "", parseUnit), "unit", "unit identifier `N`, over METER's and the map's")
	f.Var(flags.Duration(&m.Timeout, time.Second, isTimeout), "timeout", "how long to wait for one answer")
	f.Var(flags.Int(&m.Retries, 1, flags.FromZero), "retries", "further tries for an answer that doesn't come")
	f.StringVar(&m.Fault, "fault", "", "wiring faults of a simulated meter, a comma `LIST`")
	f.Uint64Var(&m.Seed, "seed", 0, "seed `N` of a simulated meter")
	f.StringVar(&m.CA, "ca", "", "for tls://: authority that signed the meter's certificate, PEM `FILE`")
	f.StringVar(&m.Cert, "cert", "", "for tls://: our certificate, PEM `FILE`")
	f.StringVar(&m.Key, "key", "", "for tls://: its key, PEM `FILE`")
	f.StringVar(&m.ServerName, "server-name", "",
		"for tls://: the `NAME` in the meter's certificate, where METER has another")
	_ = c.MarkFlagFilename("map", "yaml", "yml")
}

// isTimeout refuses what no link can do.
func isTimeout(d time.Duration) error {
	return flags.Unless(d <= 0, "%s: wait some time for an answer, such as 500ms", d)
}

func parseUnit(text string) (int, error) {
	n, err := source.ParseUnit(text)
	if err != nil {
		return 0, flags.Refused{What: err.Error(), Apart: true}
	}
	return n, nil
}

// open makes the source.
func (a *app) open(ctx context.Context, c *cobra.Command, meter string, m meterFlags) (source.Source, error) {
	address, err := a.address(c, meter, &m)
	if err == nil {
		err = a.describesItself(c, meter, &m)
	}
	if err != nil {
		return nil, err
	}
	m.SeedSet = c.Flags().Changed("seed")
	m.Stdin = a.stdin
	p := a.progress()
	m.Asking = p.asking
	s, err := source.Open(ctx, address, m.Options)
	p.end()
	if live, ok := s.(*source.Meter); ok && err == nil && live.Kind != source.Sim {
		live.AtEnd(func() { a.tellWire(live, m.Timeout) })
	}
	return s, err
}

// address takes a METER apart; in place of a job sheet it gives the meter that
// the sheet names.
func (m *meterFlags) address(meter string) (source.Address, error) {
	address, err := source.Parse(meter)
	if err == nil && address.Kind == source.Job {
		return m.ofJob(address.Name)
	}
	return address, err
}

// ofJob puts a job sheet's meter, map and service in place of the sheet; flags
// override them.
func (m *meterFlags) ofJob(file string) (source.Address, error) {
	j, err := job.Load(file)
	if err == nil {
		err = j.NeedsMeter()
	}
	if err != nil {
		return source.Address{}, err
	}
	if m.Map == "" && j.Meter.Kind != source.Capture {
		m.Map = j.Map
	}
	m.Service = cmp.Or(m.Service, j.Service)
	return j.Meter, nil
}

// jobSheet is the job sheet that a METER is, else that of --keep, or nil.
func jobSheet(meter string, k *keep.Keeper) (*job.Job, error) {
	address, err := source.Parse(meter)
	if err != nil || address.Kind != source.Job {
		return k.Sheet(), err
	}
	return job.Load(address.Name)
}

// completeMeters offers the simulated meters; files complete by themselves.
func completeMeters(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
	if len(args) > 0 {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	var all []string
	for _, n := range sim.Names() {
		all = append(all, "sim:"+n)
	}
	return all, cobra.ShellCompDirectiveDefault
}
