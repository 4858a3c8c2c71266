package main

import (
	"errors"
	"fmt"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/flags"
	"legwork/cmd/legwork/internal/source"
	"legwork/probe/learn"
)

// startFlags answer beforehand what start would ask.
type startFlags struct {
	meterFlags
	into, region string
	generation   string
	shown        flags.List[learn.Measured]
	yes          bool
}

func (a *app) start() *cobra.Command {
	var f startFlags
	c := &cobra.Command{
		Use:     "start [PORT|HOST|METER|JOB.yaml]",
		GroupID: "look",
		Short:   "Begin a job: find the meter, learn its registers, write the job sheet",
		Long: "Finds the meter, tries SunSpec, else learns which registers hold what, finds the service\n" +
			"by the voltages, and writes the job sheet and the register map. It asks for what it can't\n" +
			"find out, and goes on where it was broken off. No file that someone wrote is written over.\n" +
			"Exit status: 0 done, 2 the command, a file or a value was wrong, 3 the registers are not\n" +
			"settled, 4 the meter was not found or could not be read.",
		Example: "legwork start /dev/ttyUSB0 --into kiln.yaml",
		Args:    atMostOne("a PORT, a HOST, a METER or a JOB.yaml"),
		RunE:    func(c *cobra.Command, args []string) error { return a.runStart(c, strings.Join(args, ""), f) },
	}
	f.add(c)
	c.Flags().StringVar(&f.into, "into", "", "job sheet `JOB.yaml` to write, or to go on with")
	c.Flags().StringVar(&f.region, "region", "", "whose colours of conductors: canada, iec, us or none; local code rules")
	c.Flags().Var(flags.Each(&f.shown, learn.ParseMeasured), "measured",
		"what an instrument or the meter's display shows, such as `\"channel 1: 121.4 V\"`; may be repeated")
	choice{&f.generation, "generation",
		"`unknown`, none or possible: solar, a battery or a generator that may give power back", []string{"unknown", "none", "possible"}}.add(c)
	c.Flags().BoolVar(&f.yes, "yes", false, "take what is proposed, and ask nothing")
	_ = c.MarkFlagFilename("into", "yaml", "yml")
	return c
}

// sheetProposed is the name of a job sheet that nobody named.
const sheetProposed = "meter.yaml"

func (a *app) runStart(c *cobra.Command, meter string, f startFlags) error {
	s := &starting{app: a, c: c, startFlags: f, meter: meter, ask: newAsker(a.stdin, a.stderr, f.yes)}
	for _, step := range []func() error{s.chooseSheet, s.findMeter, s.findMap, s.holdShown, s.findService, s.askGeneration, s.judge,
		s.tellWritten} {
		if err := step(); err != nil {
			s.tellHowToGoOn()
			return s.explain(err)
		}
	}
	return nil
}

// chooseSheet finds out which job sheet it is about: the one that is named, the
// one in this folder that was begun, or a new one.
func (s *starting) chooseSheet() error {
	if address, err := source.Parse(s.meter); err == nil && address.Kind == source.Job {
		if s.into != "" && s.into != s.meter {
			return fmt.Errorf("%s and --into %s: name one job sheet", s.meter, s.into)
		}
		s.into, s.meter = s.meter, ""
	}
	if begun := begunSheets("."); s.into == "" && s.meter == "" && len(begun) == 1 {
		s.into = begun[0]
		s.say("Going on with %s", s.into)
	}
	if s.into != "" {
		return s.open(s.into)
	}
	err := s.ask.askUntil(s.c.Context(), "Name of the job sheet?", sheetProposed, func(name string) error {
		if filepath.Ext(name) == "" {
			name += ".yaml"
		}
		return s.open(name)
	})
	if errors.Is(err, errNoAnswer) {
		return errors.New("say with --into FILE.yaml how the job sheet is to be called, or --yes")
	}
	return err
}

// tellWritten ends the session: which files there are, how the meter reads now,
// and what to do next.
func (s *starting) tellWritten() error {
	wrote := s.sheet + " (job sheet)"
	if s.j.Map != "" && s.j.Map != source.SunSpecMap {
		wrote += ", " + s.j.Map + " (register map)"
	}
	wrote, next := "Written: "+wrote+".", " Next: legwork watch "+s.sheet
	if len(wrote+next) > 80 { // a command stays in one piece
		next = "\n" + next[1:]
	}
	style := s.style()
	_, err := fmt.Fprintf(s.stdout, "%s\n%s%s\n", style.Fold(s.verdict), style.Fold(wrote), next)
	return err
}

// tellHowToGoOn says how to go on once something was written.
func (s *starting) tellHowToGoOn() {
	if s.j != nil && s.j.Meter.Kind != 0 {
		s.say("What is known is in %s; to go on: legwork start %[1]s", s.sheet)
	}
}
