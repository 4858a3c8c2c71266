package main

import (
	"bufio"
	"errors"
	"fmt"
	"path/filepath"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/files"
	"legwork/cmd/legwork/internal/fleet"
)

// fleetFlags are those of a yard of many simulated meters.
type fleetFlags struct {
	meters, wires int
	sites, truth  string
}

func (f *fleetFlags) add(c *cobra.Command) {
	c.Flags().IntVar(&f.meters, "fleet", 0, "serve `N` meters of mixed places and faults, with --sites")
	c.Flags().IntVar(&f.wires, "wires", 0, "of --fleet: on how many wires `N`; else one for 20 meters")
	c.Flags().StringVar(&f.sites, "sites", "",
		"of --fleet: write the list of meters to `FILE`, its register maps beside it")
	c.Flags().StringVar(&f.truth, "truth", "", "of --fleet: write what is really wired to `FILE`, a JSON object a line")
}

// mostFleet is what one machine's loopback and memory take.
const mostFleet = 50_000

func (f *fleetFlags) check() error {
	switch {
	case f.meters < 1 || f.meters > mostFleet:
		return fmt.Errorf("--fleet %d: serve 1 to %d meters", f.meters, mostFleet)
	case f.wires < 0 || f.wires > f.meters || f.wires > 0 && f.meters > 247*f.wires:
		return fmt.Errorf("--wires %d: a wire takes 1 to 247 of the %d meters", f.wires, f.meters)
	case f.sites == "":
		return errors.New("--fleet needs --sites FILE, where the list of its meters is written")
	}
	return nil
}

func (a *app) runFleet(c *cobra.Command, f fleetFlags, seed uint64, control bool) error {
	if err := f.check(); err != nil {
		return err
	}
	yard, err := fleet.Serve(fleet.Options{Meters: f.meters, Wires: f.wires, Seed: seed})
	if err != nil {
		return err
	}
	defer yard.Close()
	for name, src := range yard.Maps {
		out := files.Output{Name: filepath.Join(filepath.Dir(f.sites), name), Kind: "the map of a simulated place", Own: isPlaceMap}
		if err := mapFormat.write(out, src); err != nil {
			return fmt.Errorf("--sites: %w", err)
		}
	}
	truth := files.Output{Name: f.truth, Kind: "the truth of a simulated fleet", Own: fleet.IsTruth}
	if f.truth != "" {
		err = inFlag("--truth", truth.Write(yard.Truth()))
	}
	list := files.Output{Name: f.sites, Kind: "a list of simulated meters", Own: fleet.IsSites}
	if err == nil {
		err = inFlag("--sites", list.Write(yard.Sites()))
	}
	if err != nil {
		return err
	}
	if _, err := fmt.Fprintln(a.stdout, f.sites); err != nil {
		return err
	}
	fmt.Fprintln(a.stderr, metersOn(len(yard.Meters), len(yard.Servers))+"; interrupt to end")
	if control {
		go a.orders(yard.Order)
	}
	<-c.Context().Done()
	return nil
}

// orders follows standard input: each line changes something.
func (a *app) orders(order func(line string) (done string, err error)) {
	for lines := bufio.NewScanner(a.stdin); lines.Scan(); {
		done, err := order(lines.Text())
		if err != nil {
			done = err.Error()
		}
		fmt.Fprintln(a.stderr, done)
	}
}
