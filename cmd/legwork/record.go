package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strconv"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/files"
	"legwork/cmd/legwork/internal/flags"
	"legwork/cmd/legwork/internal/keep"
	"legwork/cmd/legwork/internal/record"
	"legwork/cmd/legwork/internal/screen"
	"legwork/diagnose"
	"legwork/diagnose/asleft"
)

func (a *app) recordCommand() *cobra.Command {
	c := group("record", "paper", "Keep what was found, done and left at a job, so that it can be proved",
		a.recordReading(record.AsFound), a.recordReading(record.AsLeft), a.recordNote(), a.recordStrike(), a.recordShow(), a.recordVerify())
	c.Long = "Adds entries to the record of a job: JSON lines beside the job sheet, each with the\n" +
		"SHA-256 of the one before, so that a later change shows."
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
	k, err := keep.Begin(file, a.recordWait())
	if err != nil {
		return err
	}
	options, err := f.options(c, k.Job)
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
	e := record.Entry{Kind: kind, Verdict: &r, Seen: f.findings.Texts}
	if kind == record.AsLeft {
		compare(&e, k.Before)
	}
	added := k.Add(c.Context(), e)
	err = a.tellReading(e, added, f.format)
	switch {
	case added.Err != nil:
		return added.Err // what was read is told all the same
	case err != nil:
		fmt.Fprintf(a.stderr, "recorded as entry %d of %s; what it says can't be written: %v\n",
			added.Number, added.File, files.Plain(err))
		return statusOrNone(verdictStatus(r.Verdict))
	}
	for _, one := range e.Compared {
		if one.Outcome == asleft.Missed && r.Verdict == diagnose.Agrees {
			return status(exitUndecided)
		}
	}
	return verdictStatus(r.Verdict)
}

// compare holds readings as left against what was predicted, or says why it can't.
func compare(e *record.Entry, before *record.Log) {
	from, none := before.Predicted(before.Next())
	if from == nil {
		e.Cautions = append(e.Cautions, "no prediction to hold this against: "+none)
		return
	}
	e.Compared, e.Against = asleft.New().Compare(from.Verdict, e.Verdict), from.Number
}

// statusOrNone ends a command whose output is lost and whose work is done.
func statusOrNone(err error) error {
	if err == nil {
		return status(exitAgrees)
	}
	return err
}

// tellReading shows the verdict and where it is kept.
func (a *app) tellReading(e record.Entry, added keep.Kept, format string) error {
	if format == "json" {
		a.tellTorn(added.Appended)
		return json.NewEncoder(a.stdout).Encode(struct {
			Legwork  int               `json:"legwork"`
			Record   string            `json:"record"`
			Number   int               `json:"number,omitzero"` // absent where it couldn't be recorded
			Seal     string            `json:"seal,omitzero"`
			Verdict  *diagnose.Result  `json:"verdict"`
			Compared []record.Compared `json:"compared"`
			Cautions []string          `json:"cautions"`
		}{diagnose.ResultVersion, added.File, added.Number, added.Seal, e.Verdict, emptied(e.Compared),
			emptied(added.Cautions)})
	}
	show := screen.Verdict
	if e.Kind == record.AsLeft {
		show = screen.AsLeft
	}
	if err := show(a.stdout, *e.Verdict, a.style()); err != nil {
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

type noteFlags struct {
	moves, remarks []string
	tests          flags.List[diagnose.Finding]
	reads          flags.List[record.Read]
}

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
	addFindings(c, findingFlag{&f.tests, "test", noted})
	c.Flags().Var(flags.Each(&f.reads, record.NewRead), "read",
		"what was read by hand, such as `\"import: 12345.6 kWh\"`; may be repeated")
	c.Flags().StringArrayVar(&f.remarks, "remark", nil, "anything else, in `WORDS`; may be repeated")
	return c
}

// noted reads what a test showed.
func noted(text string) (diagnose.Finding, error) {
	one, err := diagnose.ParseFinding(text)
	if err != nil {
		err = fmt.Errorf("%w; other words go into --remark", err)
	}
	return one, err
}

func (a *app) runRecordNote(file string, f noteFlags) error {
	e := record.Entry{Kind: record.Note, Moves: f.moves, Tests: f.tests.Texts, Reads: f.reads.Values, Remarks: f.remarks}
	words := slices.Concat(f.moves, f.remarks)
	if slices.Contains(words, "") || len(words)+len(e.Tests)+len(e.Reads) == 0 {
		return errors.New("a note says something: --move, --test, --read or --remark")
	}
	if len(e.Moves) > 0 && len(e.Tests) > 0 {
		return errors.New("a test speaks of the wiring as it was then: write --move and --test in two notes, in the order " +
			"in which they were made")
	}
	k, err := keep.Begin(file, a.recordWait())
	if err != nil {
		return err
	}
	for _, r := range e.Reads {
		if before, entry := k.Before.OtherUnit(r); before != nil {
			return fmt.Errorf("--read %q: entry %d has %q in %s; write it in %s, as the register shows it, or give another "+
				"register another name. A read that was wrong is struck: `legwork record strike %s %d --why WHY`", r.Text, entry,
				before.Text, before.Shown(), before.Shown(), file, entry)
		}
	}
	return a.addByHand(k, e)
}

// addByHand adds what a person says.
func (a *app) addByHand(k *keep.Keeper, e record.Entry) error {
	added := k.Add(context.Background(), e)
	if added.Err != nil {
		return added.Err
	}
	return a.tellEntry(a.stdout, added)
}

func (a *app) recordStrike() *cobra.Command {
	var why string
	c := &cobra.Command{
		Use:   "strike JOB.yaml NUMBER --why WORDS",
		Short: "Say that an entry counts no more; it stays in the record, marked",
		Long: "A slip is never taken out of a record: another entry says that it counts no more, and why.\n" +
			"What was noted, tested or read in it is left out of verdicts, ledgers and accounts from then on.",
		Example: `legwork record strike kiln.yaml 5 --why "read off the wrong register"`,
		Args:    cobra.ArbitraryArgs,
		RunE: func(c *cobra.Command, args []string) error {
			if len(args) != 2 {
				return fmt.Errorf("%s: say a JOB.yaml and the number of an entry, such as `%s`", c.CommandPath(), c.Example)
			}
			n, err := strconv.Atoi(args[1])
			if err != nil || n < 1 {
				return fmt.Errorf("%q is not the number of an entry; `legwork record show %s` lists them", args[1], args[0])
			}
			k, err := keep.Begin(args[0], a.recordWait())
			if err != nil {
				return err
			}
			s := record.Strike{Number: n, Why: why}
			if err := k.Before.CheckStrike(s); err != nil {
				return err
			}
			return a.addByHand(k, record.Entry{Kind: record.Struck, Strikes: &s})
		},
	}
	c.Flags().StringVar(&why, "why", "", "why it counts no more, in `WORDS`")
	return c
}
