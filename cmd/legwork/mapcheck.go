package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/screen"
	"legwork/cmd/legwork/internal/source"
	"legwork/probe/regmap"
)

func (a *app) mapCommand() *cobra.Command {
	c := &cobra.Command{
		Use:     "map",
		GroupID: "bench",
		Short:   "Check a register map",
		Args:    noArguments,
		RunE:    func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	c.AddCommand(a.mapCheck())
	return c
}

func (a *app) mapCheck() *cobra.Command {
	var f meterFlags
	c := &cobra.Command{
		Use:     "check FILE [METER]",
		Short:   "Check a register map, and with a METER show what stands in its registers",
		Example: "legwork map check kiln.yaml",
		Args: func(c *cobra.Command, args []string) error {
			if len(args) == 2 {
				return nil
			}
			return oneArgument("a FILE")(c, args)
		},
		RunE: func(c *cobra.Command, args []string) error { return a.runMapCheck(c, args, f) },
	}
	f.add(c)
	_ = c.Flags().MarkHidden("map")
	return c
}

func (a *app) runMapCheck(c *cobra.Command, args []string, f meterFlags) error {
	m, err := source.LoadMap(args[0])
	if err != nil {
		return a.explain(err)
	}
	if len(args) == 1 {
		return screen.Map(a.stdout, m.Plan(regmap.Limits{}), m.Explain(nil), a.style())
	}
	f.Map = args[0]
	return a.showRegisters(c, args[1], f)
}

// showRegisters reads the meter once and shows raw words beside values.
func (a *app) showRegisters(c *cobra.Command, meter string, f meterFlags) error {
	if address, err := source.Parse(meter); err == nil && address.Kind == source.Sim {
		return fmt.Errorf("%s brings its own map; check one against `legwork sim %s --listen 127.0.0.1:5020`, at tcp://127.0.0.1:5020", meter, address.Name)
	}
	s, err := a.open(c.Context(), c, meter, f)
	if err != nil {
		return err
	}
	defer s.Close()
	live, ok := s.(*source.Meter)
	if !ok {
		return fmt.Errorf("%s is a capture; a map is checked against a meter", meter)
	}
	if _, err := live.Next(c.Context()); err != nil {
		return err
	}
	return screen.Map(a.stdout, live.Plan(), live.Map.Explain(live.Blocks()), a.style())
}
