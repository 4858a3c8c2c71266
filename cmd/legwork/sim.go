package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/source"
	"legwork/sim"
)

type simFlags struct {
	listen, fault, mapOut string
	seed                  uint64
}

func (a *app) sim() *cobra.Command {
	var f simFlags
	c := &cobra.Command{
		Use:     "sim [NAME]",
		GroupID: "bench",
		Short:   "Serve a simulated meter over Modbus TCP, or list the places there are",
		Example: "legwork sim kiln-house --listen 127.0.0.1:5020 --fault ct2-reversed",
		Args: func(c *cobra.Command, args []string) error {
			if len(args) == 0 {
				return nil
			}
			return oneArgument("NAME")(c, args)
		},
		ValidArgs: sim.Names(),
		RunE: func(c *cobra.Command, args []string) error {
			if len(args) == 0 {
				return a.listPlaces()
			}
			return a.runSim(c, args[0], f)
		},
	}
	c.Flags().StringVar(&f.listen, "listen", "127.0.0.1:5020", "`HOST:PORT` to serve on")
	c.Flags().StringVar(&f.fault, "fault", "", "wiring faults, a comma `LIST`")
	c.Flags().Uint64Var(&f.seed, "seed", 0, "seed `N` of the loads and the meter's errors")
	c.Flags().StringVar(&f.mapOut, "map-out", "", "write the register map that reads it to `FILE`")
	_ = c.RegisterFlagCompletionFunc("fault", cobra.FixedCompletions(sim.Mistakes(), cobra.ShellCompDirectiveNoFileComp))
	return c
}

func (a *app) listPlaces() error {
	_, err := fmt.Fprintf(a.stdout, "Places: %s\nFaults: %s\n", strings.Join(sim.Names(), ", "), strings.Join(sim.Mistakes(), ", "))
	return err
}

func (a *app) runSim(c *cobra.Command, name string, f simFlags) error {
	served, err := source.ServePlace(name, f.listen, sim.Options{Fault: f.fault, Seed: f.seed})
	if err != nil {
		return err
	}
	defer served.Server.Close()
	if f.mapOut != "" {
		_, src := served.Place.Map()
		if err := writeWhole(f.mapOut, src); err != nil {
			return fmt.Errorf("--map-out %w", err)
		}
	}
	if _, err := fmt.Fprintf(a.stdout, "tcp://%s/%d\n", served.Host, served.Unit); err != nil {
		return err
	}
	fmt.Fprintf(a.stderr, "%s, %s; interrupt to end\n", name, served.Place.Service())
	<-c.Context().Done()
	return nil
}

// writeWhole writes a file by way of a temporary one, so that it is there whole
// or not at all.
func writeWhole(name string, content []byte) error {
	f, err := os.CreateTemp(filepath.Dir(name), ".legwork-*")
	if err != nil {
		return err
	}
	defer os.Remove(f.Name())
	_, err = f.Write(content)
	if closed := f.Close(); err == nil {
		err = closed
	}
	if err == nil {
		err = os.Chmod(f.Name(), 0o644)
	}
	if err != nil {
		return err
	}
	return os.Rename(f.Name(), name)
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
