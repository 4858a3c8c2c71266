package main

import (
	"bytes"
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/files"
	"legwork/cmd/legwork/internal/source"
	"legwork/sim"
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
	served, err := source.ServeLayout(name, sim.Options{Fault: f.fault, Seed: f.seed}, f.layout)
	if err != nil {
		return err
	}
	out := files.Output{Name: f.mapOut, Kind: "a map of a simulated layout", Own: func(begins []byte) bool {
		return bytes.HasPrefix(mapFormat.withoutPointer(begins), []byte("# "+layoutHeading))
	}}
	return a.serveMeter(c, served, f, servedMap{fmt.Sprintf("layout %d, %s", f.layout, served.Layout.Service), out,
		served.Layout.Map().YAML(layoutHeading)})
}
