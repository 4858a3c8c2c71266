package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/screen"
	"legwork/diagnose/phasetest"
	"legwork/diagnose/wiring"
	"legwork/probe/sheet"
)

type phasetestFlags struct {
	service, highLeg, file, worksheet, on, colours, format string
	readings                                               []string
	dead, proved                                           bool
}

func (a *app) phasetest() *cobra.Command {
	var f phasetestFlags
	c := &cobra.Command{
		Use:     "phasetest",
		GroupID: "before",
		Short:   "Tell which pole of the voltage taps is on which main leg, and which CT goes where",
		Long: "Without readings, prints the worksheet of a phase test: what a voltmeter should read\n" +
			"between each main leg and each pole of the voltage taps. With readings, says which pole\n" +
			"is on which leg, or which reading would settle it, and then where each CT goes.\n" +
			"Exit status: 0 every pole is on the leg of its number, 1 settled but not so, 2 the\n" +
			"command, a file or a value was wrong, 3 not settled.",
		Example: "legwork phasetest --service 120/240 --reading \"L1-1 0.2 V\" --reading \"1-N 121 V\"",
		Args:    noArguments,
		RunE:    func(c *cobra.Command, _ []string) error { return a.runPhasetest(c, f) },
	}
	f.add(c)
	return c
}

func (f *phasetestFlags) add(c *cobra.Command) {
	g := c.Flags()
	g.StringVar(&f.service, "service", "", "service `NAME`, such as 120/208Y")
	g.StringVar(&f.highLeg, "high-leg", "", "`LEG` that stands high on 120/240D; else the readings tell")
	g.StringArrayVar(&f.readings, "reading", nil, "what the tester showed, such as `\"A-1 0.3 V\"` or \"1-N 120 V\"; may be repeated")
	g.StringVar(&f.file, "file", "", "worksheet `FILE` that was filled in")
	g.StringVar(&f.worksheet, "worksheet", "", "write a worksheet to fill in to `FILE`")
	g.BoolVar(&f.dead, "dead", false, "by continuity, on conductors that are locked out and proved dead")
	g.BoolVar(&f.proved, "proved", false, "the tester was proved on a known source before and after")
	g.StringVar(&f.on, "for", "mains", "`mains` or branch: where the CTs go")
	g.StringVar(&f.colours, "colours", "", "practice of colours: `"+strings.Join(phasetest.Palettes(), ", ")+"`")
	g.StringVar(&f.format, "format", "text", "`text` or json")
	_ = c.RegisterFlagCompletionFunc("service", completeServices)
	_ = c.RegisterFlagCompletionFunc("for", cobra.FixedCompletions([]string{"mains", "branch"}, cobra.ShellCompDirectiveNoFileComp))
	_ = c.RegisterFlagCompletionFunc("colours", cobra.FixedCompletions(phasetest.Palettes(), cobra.ShellCompDirectiveNoFileComp))
	_ = c.RegisterFlagCompletionFunc("format", cobra.FixedCompletions([]string{"text", "json"}, cobra.ShellCompDirectiveNoFileComp))
	_ = c.MarkFlagFilename("file", "yaml", "yml")
}

func (a *app) runPhasetest(c *cobra.Command, f phasetestFlags) error {
	if f.format != "text" && f.format != "json" {
		return fmt.Errorf("--format %q is not text or json", f.format)
	}
	t, readings, err := f.gather(c)
	var faults *sheet.Faults
	if errors.As(err, &faults) {
		return a.tellFaults(faults)
	}
	if err != nil {
		return err
	}
	switch {
	case f.worksheet != "":
		return a.writeWorksheet(t, f)
	case len(readings) == 0 && f.file == "":
		return a.show(f.format, t.Paper(), func(w io.Writer) error { return screen.PhasePaper(w, t.Paper(), a.style()) })
	}
	r := t.Judge(readings)
	if err := a.show(f.format, r, func(w io.Writer) error { return screen.PhaseTest(w, r, a.style()) }); err != nil {
		return err
	}
	return map[phasetest.Verdict]error{phasetest.Agrees: nil, phasetest.Fault: status(exitFault), phasetest.Undecided: status(exitUndecided)}[r.Verdict]
}

// tellFaults writes every fault of a file, with its line.
func (a *app) tellFaults(faults *sheet.Faults) error {
	for _, one := range faults.List {
		fmt.Fprintln(a.stderr, one.Error())
		if one.Snippet != "" {
			fmt.Fprintln(a.stderr, "    "+strings.ReplaceAll(one.Snippet, "\n", "\n    "))
		}
	}
	return status(exitWrong)
}

// show writes a value as JSON, or the text of it.
func (a *app) show(format string, value any, text func(io.Writer) error) error {
	if format == "json" {
		return json.NewEncoder(a.stdout).Encode(value)
	}
	return text(a.stdout)
}

// gather makes the test and its readings of the file and the flags; readings of
// the flags come after those of the file.
func (f *phasetestFlags) gather(c *cobra.Command) (phasetest.Test, []phasetest.Reading, error) {
	t, readings, err := f.fromFile()
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

func (f *phasetestFlags) fromFile() (phasetest.Test, []phasetest.Reading, error) {
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
	return phasetest.ParseSheet(f.file, src)
}

// fromFlags sets what the flags say over the file; what they contradict is refused.
func (f *phasetestFlags) fromFlags(c *cobra.Command, t *phasetest.Test) (err error) {
	switch {
	case f.service == "" && f.file == "":
		return fmt.Errorf("%s: say the --service, such as `--service 120/208Y`; `%s --help` lists the flags", c.CommandPath(), c.CommandPath())
	case f.file != "" && f.service != "" && f.service != t.Service.Name:
		return fmt.Errorf("--service %s, but %s is of %s; leave --service out or mend the file", f.service, f.file, t.Service.Name)
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
	if t.On, err = phasetest.ParseMounting(f.on); err != nil {
		return fmt.Errorf("--for %w", err)
	}
	if t.Colours, err = phasetest.ParsePalette(f.colours); err != nil {
		return fmt.Errorf("--colours %w", err)
	}
	return nil
}

// writeWorksheet writes a file to fill in, and never over one that is there: it
// may have been filled in.
func (a *app) writeWorksheet(t phasetest.Test, f phasetestFlags) error {
	if f.file != "" || len(f.readings) > 0 {
		return errors.New("--worksheet writes a blank one; leave out --file and --reading")
	}
	if _, err := os.Lstat(f.worksheet); err == nil {
		return fmt.Errorf("--worksheet %s is there already; name another file, or move it away", f.worksheet)
	}
	if err := writeWhole(f.worksheet, t.Sheet()); err != nil {
		return fmt.Errorf("--worksheet %w", err)
	}
	fmt.Fprintf(a.stderr, "%s: fill it in, then legwork phasetest --file %s\n", f.worksheet, f.worksheet)
	return nil
}
