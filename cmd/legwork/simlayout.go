package main

import (
	"bytes"
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/files"
	"legwork/cmd/legwork/internal/source"
	"legwork/sim"
	"legwork/sim/serve"
)

// layoutHeading begins the maps of layouts, by which they are known again.
const layoutHeading = "The registers of a simulated meter, as its maker would have written them down."

// runLayout serves a meter whose registers are to be found out.
func (a *app) runLayout(c *cobra.Command, name string, f simFlags) error {
	switch {
	case name == "" && (f.fault != "" || f.control):
		return errors.New("--fault and --control are for a place; name one")
	case f.sunspec != 0:
		return errors.New("--sunspec and --layout: a layout is for a meter that follows no standard; leave one out")
	}
	mischief, err := serve.ParseMischief(f.mischief, f.seed)
	if err != nil {
		return fmt.Errorf("--mischief %w", err)
	}
	served, err := source.ServeLayout(name, sim.Options{Fault: f.fault, Seed: f.seed}, f.layout)
	if err != nil {
		return err
	}
	defer served.Server.Close()
	served.Server.Spoil(mischief)
	served.Server.Delay(f.turnaround)
	if f.most > 0 {
		served.Meter.MostRegisters = f.most
	}
	meters, err := listenAll(c, served.Server, 1, f)
	if err != nil {
		return err
	}
	if f.mapOut != "" {
		out := files.Output{Name: f.mapOut, Kind: "a map of a simulated layout", Own: func(begins []byte) bool {
			return bytes.HasPrefix(mapFormat.withoutPointer(begins), []byte("# "+layoutHeading))
		}}
		if err := mapFormat.write(out, served.Layout.Map().YAML(layoutHeading)); err != nil {
			return fmt.Errorf("--map-out %w", err)
		}
	}
	return a.serveOn(c, meters, fmt.Sprintf("layout %d, %s", f.layout, served.Layout.Service), served.Place, f.control)
}
