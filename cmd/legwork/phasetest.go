package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/files"
	"legwork/cmd/legwork/internal/flags"
	"legwork/cmd/legwork/internal/job"
	"legwork/cmd/legwork/internal/keep"
	"legwork/cmd/legwork/internal/record"
	"legwork/cmd/legwork/internal/screen"
	"legwork/cmd/legwork/internal/source"
	"legwork/diagnose/phasetest"
	"legwork/diagnose/wiring"
	"legwork/probe/sheet"
)

type phasetestFlags struct {
	keepFlags
	service, highLeg, file, worksheet, format string
	readings                                  []string
	dead, proved, ask                         bool
	on                                        phasetest.Mounting
	colours                                   wiring.ColourCode

	job *job.Job // of the sheet that was named, or nil
}

func (a *app) phasetest() *cobra.Command {
	var f phasetestFlags
	c := &cobra.Command{
		Use:     "phasetest [JOB.yaml]",
		GroupID: "before",
		Short:   "Tell which pole of the voltage taps is on which main leg, and which CT goes where",
		Long: "Without readings, prints the worksheet of a phase test: what a voltmeter should read\n" +
			"between each main leg and each pole of the voltage taps. With readings, says which pole\n" +
			"is on which leg, or which reading would settle it, and then where each CT goes. A job\n" +
			"sheet says the service, the colours and whether mains or a branch. With --ask it leads\n" +
			"through the readings one by one, and goes on where it was broken off.\n" +
			"Exit status: 0 every pole is on the leg of its number, 1 settled but not so, 2 the\n" +
			"command, a file or a value was wrong, 3 not settled.",
		Example: "legwork phasetest --service 120/208Y --ask\n" +
			"legwork phasetest --service 120/240 --reading \"L1-1 0.2 V\" --reading \"1-N 121 V\"",
		Args: atMostOne("a JOB.yaml"),
		RunE: func(c *cobra.Command, args []string) error { return a.runPhasetest(c, f.meterOf(args), f) },
	}
	f.add(c)
	return c
}

func (f *phasetestFlags) add(c *cobra.Command) {
	g := c.Flags()
	serviceFlag(c, &f.service, "service `NAME`, such as 120/208Y")
	g.StringVar(&f.highLeg, "high-leg", "", "`LEG` that stands high on 120/240D; else the readings tell")
	g.StringArrayVar(&f.readings, "reading", nil,
		"what the tester showed, such as `\"A-1 0.3 V\"` or \"1-N 120 V\"; may be repeated")
	g.StringVar(&f.file, "file", "", "worksheet `FILE` that was filled in")
	g.StringVar(&f.worksheet, "worksheet", "", "write a worksheet to fill in to `FILE`")
	g.BoolVar(&f.ask, "ask", false, "be asked for each reading; answers are kept in the worksheet of --file,\n"+
		"or beside the job sheet")
	g.BoolVar(&f.dead, "dead", false, "by continuity, on conductors that are locked out and proved dead")
	g.BoolVar(&f.proved, "proved", false, "the tester was proved on a known source before and after")
	g.Var(flags.Text(&f.on, "mains", phasetest.ParseMounting), "for", "`mains` or branch: where the CTs go")
	g.Var(flags.Text(&f.colours, "", wiring.ParseColourCode), "colours",
		"practice of colours `NAME`: "+strings.Join(wiring.ColourCodes(), ", "))
	addFormat(c, &f.format)
	f.addKeep(c)
	complete(c, "for", []string{"mains", "branch"})
	complete(c, "colours", wiring.ColourCodes())
	_ = c.MarkFlagFilename("file", "yaml", "yml")
}

// runPhasetest tests by a job sheet, which may be empty.
func (a *app) runPhasetest(c *cobra.Command, sheet string, f phasetestFlags) error {
	k, err := a.keep(c, f.keepFlags)
	if err != nil {
		return err
	}
	if sheet != "" {
		if address, err := source.Parse(sheet); err != nil || address.Kind != source.Job {
			return fmt.Errorf("%q is no job sheet, a FILE.yaml; a service is said with --service", sheet)
		}
		if f.job, err = job.Load(sheet); err != nil {
			return a.explain(err)
		}
	}
	gather := f.gather
	if f.ask {
		gather = func(c *cobra.Command, k *keep.Keeper) (phasetest.Test, []phasetest.Reading, error) {
			return a.askPhases(c, &f, k)
		}
	}
	t, readings, err := gather(c, k)
	if err != nil {
		return a.explain(err)
	}
	switch {
	case f.worksheet != "":
		return a.writeWorksheet(t, f)
	case len(readings) == 0 && f.file == "" && !f.ask:
		if k != nil {
			fmt.Fprintln(a.stderr, "note: nothing is kept yet; readings make an entry")
		}
		return tell(a, f.format, t.Paper(), screen.PhasePaper)
	}
	if len(readings) == 0 && f.ask {
		k = nil // nothing to keep yet
	}
	r := t.Judge(readings)
	e := record.Entry{Kind: record.OfPhaseTest, Result: &record.Result{PhaseTest: &r}, Tests: r.Findings}
	return outcome[phasetest.Result]{r.Verdict, r, screen.PhaseTest, f.format, e}.give(c.Context(), a, k)
}

// gather makes the test and its readings of the file and the flags; readings of
// the flags come after those of the file.
func (f *phasetestFlags) gather(c *cobra.Command, k *keep.Keeper) (phasetest.Test, []phasetest.Reading, error) {
	t, readings, err := f.fromFile(k)
	if err != nil {
		return t, nil, err
	}
	if err := f.fromFlags(c, &t); err != nil {
		return t, nil, err
	}
	for _, text := range f.readings {
		r, err := t.ParseReading(text)
		if err != nil {
			return t, nil, fmt.Errorf("--reading %w", err)
		}
		readings = append(readings, r)
	}
	return t, readings, nil
}

func (f *phasetestFlags) fromFile(k *keep.Keeper) (phasetest.Test, []phasetest.Reading, error) {
	if f.file == "" {
		return phasetest.Test{}, nil, nil
	}
	in, err := os.Open(f.file)
	if err != nil {
		return phasetest.Test{}, nil, fmt.Errorf("--file %w; --worksheet FILE writes one to fill in", err)
	}
	defer in.Close()
	src, err := io.ReadAll(io.LimitReader(in, sheet.MostBytes+1))
	if err != nil {
		return phasetest.Test{}, nil, fmt.Errorf("--file %w", err)
	}
	k.File(f.file, src)
	return phasetest.ParseSheet(f.file, src)
}

// fromFlags sets what the flags say over the file; what they contradict is refused.
func (f *phasetestFlags) fromFlags(c *cobra.Command, t *phasetest.Test) (err error) {
	if f.job != nil {
		if err := f.fromJob(c, t); err != nil {
			return err
		}
	}
	switch {
	case f.service == "" && f.file == "":
		return fmt.Errorf("%s: say the --service, such as `--service 120/208Y`; `%[1]s --help` lists the flags",
			c.CommandPath())
	case f.file != "" && f.service != "" && f.service != t.Service.Name:
		return fmt.Errorf("--service %s, but %s is of %s; leave --service out or mend the file", f.service, f.file,
			t.Service.Name)
	case f.file != "" && f.dead && !t.Dead:
		return fmt.Errorf("--dead, but %s is of a live test; leave --dead out or mend its method", f.file)
	case f.file == "":
		if t.Service, err = wiring.ParseService(f.service); err != nil {
			return fmt.Errorf("--service %w", err)
		}
		t.Dead = f.dead
	}
	if f.highLeg != "" {
		if t.Service.HighLeg, err = phasetest.ParseHighLeg(t.Service, f.highLeg); err != nil {
			return fmt.Errorf("--high-leg %w", err)
		}
	}
	t.Proved = t.Proved || f.proved
	t.On, t.Colours = f.on, f.colours
	return nil
}

// fromJob takes from a job sheet what no flag says. A worksheet of another
// service than the sheet's is of another panel.
func (f *phasetestFlags) fromJob(c *cobra.Command, t *phasetest.Test) error {
	j := f.job
	switch {
	case f.file != "" && j.Service != "" && j.Service != t.Service.Name:
		return fmt.Errorf("%s is of %s, but %s is of %s; mend one of the two", f.file, t.Service.Name, j.File, j.Service)
	case f.file == "" && f.service == "":
		f.service = j.Service
	}
	if j.Metered != "" && !c.Flags().Changed("for") {
		f.on = phasetest.Mounting(j.Metered)
	}
	if c.Flags().Changed("colours") {
		return nil
	}
	for _, l := range j.Legs {
		if n, err := strconv.Atoi(l.Name); err == nil && n <= len(t.Wires) {
			t.Wires[n-1] = l.Colour
		}
	}
	return nil
}

// writeWorksheet writes a file to fill in, and never over one that is there: it
// may have been filled in.
func (a *app) writeWorksheet(t phasetest.Test, f phasetestFlags) error {
	if f.file != "" || len(f.readings) > 0 {
		return errors.New("--worksheet writes a blank one; leave out --file and --reading")
	}
	if err := (files.Output{Name: f.worksheet}).Write(t.Sheet()); err != nil {
		return fmt.Errorf("--worksheet %w", err)
	}
	fmt.Fprintf(a.stderr, "%s: fill it in, then legwork phasetest --file %s\n", f.worksheet, f.worksheet)
	return nil
}
