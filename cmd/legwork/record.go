package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/record"
	"legwork/cmd/legwork/internal/screen"
	"legwork/diagnose"
)

func (a *app) recordCommand() *cobra.Command {
	c := &cobra.Command{
		Use:     "record",
		GroupID: "paper",
		Short:   "Keep what was found, done and left at a job, so that it can be proved",
		Long: "Adds entries to the record of a job: JSON lines beside the job sheet, each with the\n" +
			"SHA-256 of the one before, so that a later change shows.",
		Args: noArguments,
		RunE: func(c *cobra.Command, _ []string) error { return c.Help() },

		SuggestionsMinimumDistance: 2,
	}
	c.AddCommand(a.recordReading(record.AsFound), a.recordReading(record.AsLeft), a.recordNote(), a.recordShow(), a.recordVerify())
	return c
}

// recordReading is as-found or as-left.
func (a *app) recordReading(kind record.Kind) *cobra.Command {
	var f diagnoseFlags
	short := "Read, judge and record the wiring before anything is moved"
	if kind == record.AsLeft {
		short = "Read, judge and record the wiring after the last move, against what was predicted"
	}
	c := &cobra.Command{
		Use:   string(kind) + " JOB.yaml",
		Short: short,
		Long: short + ".\nExit status: that of the verdict, as of diagnose; 3 too where a prediction was not met.\n" +
			"With 2 and 4 nothing was recorded.",
		Example: "legwork record " + string(kind) + " kiln.yaml",
		Args:    oneArgument("a JOB.yaml"),
		RunE: func(c *cobra.Command, args []string) error {
			return a.runRecordReading(c, kind, args[0], f)
		},
	}
	f.add(c)
	return c
}

func (a *app) runRecordReading(c *cobra.Command, kind record.Kind, file string, f diagnoseFlags) error {
	if err := f.check(); err != nil {
		return err
	}
	k, err := beginEntry(file)
	if err != nil {
		return err
	}
	options, err := f.options(c, k.job)
	if err != nil {
		return err
	}
	s, err := a.openKept(c, file, f.meterFlags, k)
	if err != nil {
		return err
	}
	defer s.Close()
	r, err := f.judge(c.Context(), s, options)
	if err != nil {
		return err
	}
	e := record.Entry{Kind: kind, Verdict: &r, Seen: f.seen}
	if last := k.before.Last(record.AsFound, record.AsLeft); last != nil && kind == record.AsLeft {
		e.Compared = record.Compare(last.Verdict, e.Verdict)
	}
	added := k.add(c.Context(), e)
	if added.err != nil {
		return added.err
	}
	if err := a.tellReading(e, added, f.format); err != nil {
		return err
	}
	for _, one := range e.Compared {
		if one.Outcome == record.Missed && r.Verdict == diagnose.Agrees {
			return status(exitUndecided)
		}
	}
	return verdictStatus(r.Verdict)
}

// tellReading shows the verdict and where it is kept.
func (a *app) tellReading(e record.Entry, added kept, format string) error {
	if format == "json" {
		a.tellTorn(added.Appended)
		return json.NewEncoder(a.stdout).Encode(struct {
			Legwork  int               `json:"legwork"`
			Record   string            `json:"record"`
			Number   int               `json:"number"`
			Seal     string            `json:"seal"`
			Verdict  *diagnose.Result  `json:"verdict"`
			Compared []record.Compared `json:"compared"`
			Cautions []string          `json:"cautions"`
		}{diagnose.ResultVersion, added.file, added.Number, added.Seal, e.Verdict, emptied(e.Compared), emptied(added.cautions)})
	}
	if err := screen.Verdict(a.stdout, *e.Verdict, a.style()); err != nil {
		return err
	}
	if err := screen.Compared(a.stdout, e.Compared, a.style()); err != nil {
		return err
	}
	return a.tellKept(added, format)
}

func emptied[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}

func (a *app) tellTorn(added record.Appended) {
	if added.Torn != "" {
		fmt.Fprintf(a.stderr, "note: a line that was cut off before it was acknowledged was taken off the record; it is kept in %s\n", added.Torn)
	}
}

type noteFlags struct{ moves, tests, reads, remarks []string }

func (a *app) recordNote() *cobra.Command {
	var f noteFlags
	c := &cobra.Command{
		Use:     "note JOB.yaml",
		Short:   "Record what was moved, tested or read by hand",
		Example: `legwork record note kiln.yaml --move "Turned CT 2 round"`,
		Args:    oneArgument("a JOB.yaml"),
		RunE:    func(_ *cobra.Command, args []string) error { return a.runRecordNote(args[0], f) },
	}
	c.Flags().StringArrayVar(&f.moves, "move", nil, "what was moved, in `WORDS`; may be repeated")
	c.Flags().StringArrayVar(&f.tests, "test", nil, "what a test showed, such as `\"leg 2 on: channel 3 up\"`; may be repeated")
	c.Flags().StringArrayVar(&f.reads, "read", nil, "what was read by hand, such as `\"import: 12345.6 kWh\"`; may be repeated")
	c.Flags().StringArrayVar(&f.remarks, "remark", nil, "anything else, in `WORDS`; may be repeated")
	_ = c.RegisterFlagCompletionFunc("test", cobra.FixedCompletions(diagnose.FindingExamples(), cobra.ShellCompDirectiveNoFileComp))
	return c
}

func (a *app) runRecordNote(file string, f noteFlags) error {
	e := record.Entry{Kind: record.Note, Moves: f.moves, Tests: f.tests, Remarks: f.remarks}
	for _, text := range f.tests {
		if _, err := diagnose.ParseFinding(text); err != nil {
			return fmt.Errorf("--test %w; other words go into --remark", err)
		}
	}
	for _, text := range f.reads {
		r, err := record.ParseRead(text)
		if err != nil {
			return fmt.Errorf("--read %w", err)
		}
		e.Reads = append(e.Reads, r)
	}
	words := slices.Concat(f.moves, f.remarks)
	if slices.Contains(words, "") || len(words)+len(f.tests)+len(f.reads) == 0 {
		return errors.New("a note says something: --move, --test, --read or --remark")
	}
	if len(f.moves) > 0 && len(f.tests) > 0 {
		return errors.New("a test speaks of the wiring as it was then: write --move and --test in two notes, in the order in which they were made")
	}
	k, err := beginEntry(file)
	if err != nil {
		return err
	}
	added := k.add(context.Background(), e)
	if added.err != nil {
		return added.err
	}
	return a.tellEntry(a.stdout, added)
}
