package main

import (
	"context"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/screen"
	"legwork/cmd/legwork/internal/source"
	"legwork/diagnose"
)

type diagnoseFlags struct {
	sampleFlags
	judgeFlags
	full bool
}

func (f *diagnoseFlags) add(c *cobra.Command) {
	f.addSamples(c, 1)
	f.addJudging(c)
	f.addFindings(c)
}

// judge takes the readings of a source, and judges them.
func (f *diagnoseFlags) judge(ctx context.Context, s source.Source, o diagnose.Options) (diagnose.Result, error) {
	o.Service, o.Line = s.Service(), source.Line(s)
	on := diagnose.New(o)
	if err := f.each(ctx, s, on.Add); err != nil {
		return diagnose.Result{}, err
	}
	return on.Result(), nil
}

func (a *app) diagnose() *cobra.Command {
	var f diagnoseFlags
	c := &cobra.Command{
		Use:     "diagnose METER",
		GroupID: "look",
		Short:   "Judge a meter's wiring, and say what to move",
		Long: "Reads a meter, or a capture, and says which arrangement of its conductors explains\n" +
			"the readings. Exit status: 0 the wiring agrees, 1 a fault was found, 2 the command, a\n" +
			"file or a value was wrong, 3 undecided, 4 the meter could not be read.",
		Example:           "legwork diagnose sim:kiln-house --fault ct2-reversed",
		Args:              oneArgument("a METER"),
		ValidArgsFunction: completeMeters,
		RunE: func(c *cobra.Command, args []string) error {
			return a.runDiagnose(c, args[0], f)
		},
	}
	f.add(c)
	c.Flags().BoolVar(&f.full, "full", false, "print everything: the phasors, every move, every explanation, what the meter can't know")
	return c
}

func (a *app) runDiagnose(c *cobra.Command, meter string, f diagnoseFlags) error {
	options, err := f.optionsAt(c, meter, nil)
	if err != nil {
		return err
	}
	s, err := a.open(c.Context(), c, meter, f.meterFlags)
	if err != nil {
		return err
	}
	defer s.Close()
	r, err := f.judge(c.Context(), s, options)
	if err != nil {
		return err
	}
	show := screen.Brief
	if f.full {
		show = screen.Verdict
	}
	if err := tell(a, f.format, r, show); err != nil {
		return err
	}
	return verdictStatus(r.Verdict)
}
