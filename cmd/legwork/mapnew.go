package main

import (
	"fmt"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/files"
	"legwork/cmd/legwork/internal/flags"
	"legwork/diagnose/wiring"
	"legwork/probe/regmap"
)

func (a *app) mapNew() *cobra.Command {
	var o regmap.BlankOptions
	var service string
	c := &cobra.Command{
		Use:     "new FILE.yaml",
		Short:   "Make a register map to fill in; a file that is there is left alone",
		Example: "legwork map new kiln.map.yaml --service 120/208Y",
		Args:    oneArgument("a FILE.yaml"),
		RunE: func(_ *cobra.Command, args []string) error {
			if s, err := wiring.ParseService(service); err == nil { // the flag has refused what is none
				o.Channels = s.Channels()
			}
			return a.runMapNew(args[0], o)
		},
	}
	serviceFlag(c, &service, "service `NAME`, such as 120/208Y: how many channels there are")
	c.Flags().Var(flags.Text(&o.Unit, "", parseUnit), "unit", "unit identifier `N` of the meter")
	c.Flags().StringVar(&o.Meter, "meter-name", "", "what people call the meter, a `TEXT`")
	return c
}

func (a *app) runMapNew(file string, o regmap.BlankOptions) error {
	if ext := strings.ToLower(filepath.Ext(file)); ext != ".yaml" && ext != ".yml" {
		return fmt.Errorf("%s: the name of a register map ends in .yaml", file)
	}
	if err := mapFormat.write(files.Output{Name: file}, regmap.Blank(o)); err != nil {
		return err
	}
	_, err := fmt.Fprintf(a.stdout, "%s is there to be filled in; then: legwork map check %s\n", file, file)
	return err
}
