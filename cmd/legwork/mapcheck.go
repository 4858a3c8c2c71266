package main

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/files"
	"legwork/cmd/legwork/internal/screen"
	"legwork/cmd/legwork/internal/source"
	"legwork/probe/mend"
	"legwork/probe/regmap"
)

func (a *app) mapCommand() *cobra.Command {
	return group("map", "bench", "Make, learn and check a register map; its schema, for an editor",
		a.mapNew(), a.mapLearn(), a.mapCheck(), a.mapSchema())
}

type mapFlags struct {
	meterFlags
	write string
}

func (a *app) mapCheck() *cobra.Command {
	var f mapFlags
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
	c.Flags().StringVar(&f.write, "write", "", "save a mended copy as `FILE`, where the meter shows that the map is wrong")
	_ = c.Flags().MarkHidden("map")
	return c
}

func (a *app) runMapCheck(c *cobra.Command, args []string, f mapFlags) error {
	m, err := source.LoadMap(args[0])
	if err != nil {
		return a.explain(err)
	}
	if len(args) == 1 {
		if f.write != "" {
			return errors.New("--write needs a METER: the mends come from what it reads")
		}
		return screen.Map(a.stdout, m.Plan(regmap.Limits{}), m.Explain(nil), a.style())
	}
	f.Map = args[0]
	return a.showRegisters(c, args[1], f)
}

// showRegisters reads the meter once and shows raw words beside values.
func (a *app) showRegisters(c *cobra.Command, meter string, f mapFlags) error {
	if address, err := source.Parse(meter); err == nil && address.Kind == source.Sim {
		return fmt.Errorf("%s brings its own map; check one against `legwork sim %s --listen 127.0.0.1:5020`, at "+
			"tcp://127.0.0.1:5020", meter, address.Name)
	}
	s, err := a.open(c.Context(), c, meter, f.meterFlags)
	if err != nil {
		return err
	}
	defer s.Close()
	live, ok := s.(*source.Meter)
	if !ok {
		return fmt.Errorf("%s is a capture; a map is checked against a meter", meter)
	}
	_, failed := live.Next(c.Context())
	if failed == nil {
		if err := screen.Map(a.stdout, live.Plan(), live.Map.Explain(live.Blocks()), a.style()); err != nil {
			return err
		}
	} else if !source.IsRefused(failed) {
		return failed
	}
	wait := func(ctx context.Context) error { return pause(ctx, 300*time.Millisecond) }
	read, err := live.Registers(c.Context(), wait)
	if err != nil {
		return err
	}
	if len(read) == 0 {
		return failed
	}
	proposal := mend.Propose(live.Map, read)
	if len(proposal.Mends) == 0 {
		return failed
	}
	return a.proposeMends(f, proposal, live.Map)
}

// proposeMends says what is wrong in the map, line by line, and writes the
// mended copy that is asked for.
func (a *app) proposeMends(f mapFlags, p mend.Proposal, m *regmap.Map) error {
	lines := map[string]string{}
	for _, one := range m.Points() {
		line, column := one.Position()
		lines[one.String()] = fmt.Sprintf("%s:%d:%d", f.Map, line, column)
	}
	for _, one := range p.Mends {
		who := one.Points[0]
		if n := len(one.Points); n > 1 {
			who = fmt.Sprintf("%s and %d more points", who, n-1)
		}
		text := one.Change
		for _, or := range one.Or {
			text += " (or " + or + ")"
		}
		fmt.Fprintf(a.stderr, "%s: %s: what is read contradicts itself; %s: %s\n", lines[one.Points[0]], who, text,
			strings.Join(one.Why, "; "))
	}
	if f.write == "" {
		fmt.Fprintln(a.stderr, "`--write FILE` saves a mended copy")
		return status(exitWrong)
	}
	if err := mapFormat.write(files.Output{Name: f.write},
		p.Map.YAML("A mended copy of "+filepath.Base(f.Map)+"; check it against the meter's own display.")); err != nil {
		return fmt.Errorf("--write %w", err)
	}
	fmt.Fprintf(a.stderr, "mended copy: %s\n", f.write)
	return status(exitWrong)
}
