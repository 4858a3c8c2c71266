package main

import (
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/flags"
	"legwork/cmd/legwork/internal/help"
	"legwork/cmd/legwork/internal/job"
	"legwork/cmd/legwork/internal/keep"
	"legwork/cmd/legwork/internal/record"
	"legwork/cmd/legwork/internal/screen"
	"legwork/cmd/legwork/internal/source"
	"legwork/diagnose/ledger"
	"legwork/probe/reading"
)

type ledgerFlags struct {
	keepFlags
	format, capture string
	gap             time.Duration
}

func (a *app) ledger() *cobra.Command {
	var f ledgerFlags
	c := &cobra.Command{
		Use:     "ledger FILE",
		GroupID: "paper",
		Short:   "Work out what went through between manual reads, and check them",
		Long: "Reads a YAML or CSV file of register reads, and gives the differences: with multiplier,\n" +
			"roll-over and replaced meters, the phases against the total, and with --capture against\n" +
			"the power that was recorded meanwhile. Of a job sheet the reads are those noted in its\n" +
			"record. Exit status: 0 all that is compared agrees, 1 something differs, 2 the command, a\n" +
			"file or a value was wrong, 3 a difference can't be told.\n\n" + help.Ledger,
		Example: "legwork ledger reads.yaml --capture kiln.jsonl",
		Args:    orKeep("a FILE"),
		RunE:    func(c *cobra.Command, args []string) error { return a.runLedger(c, f.meterOf(args), f) },
	}
	choice{&f.format, "format", "`text`, json, or csv: the table for bills", []string{"text", "json", "csv"}}.add(c)
	c.Flags().StringVar(&f.capture, "capture", "", "compare with the power in a capture `FILE`")
	c.Flags().Var(flags.Duration(&f.gap, ledger.DefaultGap, isGap), "gap",
		"how far apart two readings of the capture may be")
	_ = c.MarkFlagFilename("capture", "jsonl", "csv")
	f.addKeep(c)
	return c
}

func isGap(d time.Duration) error { return flags.Unless(d <= 0, "%s is not above zero", d) }

func (a *app) runLedger(c *cobra.Command, file string, f ledgerFlags) error {
	k, err := a.keep(c, f.keepFlags)
	if err != nil {
		return err
	}
	l, left, err := openLedger(file, k)
	if err != nil {
		return a.explain(err)
	}
	var power *ledger.Integral
	if f.capture != "" {
		power = l.Integral(f.gap)
		if err := a.eachOf(c.Context(), f.capture, k, power.Add); err != nil {
			return fmt.Errorf("--capture %w", err)
		}
	}
	r := l.Judge(power)
	r.Notes = append(r.Notes, left...)
	e := record.Entry{Kind: record.OfLedger, Result: &record.Result{Ledger: &r}}
	w := outcome[ledger.Result]{r.Verdict, r, screen.Ledger, f.format, e}
	if f.format == "csv" {
		w.text = writeBill
	}
	return w.give(c.Context(), a, k)
}

// openLedger reads a file of reads; its name says in which form. Of a job sheet
// the reads are those noted in its record; left names those that don't count.
func openLedger(file string, k *keep.Keeper) (l *ledger.Ledger, left []string, err error) {
	var parse func(string, []byte) (*ledger.Ledger, error)
	switch strings.ToLower(filepath.Ext(file)) {
	case ".yaml", ".yml":
		parse = ledger.ParseYAML
	case ".csv":
		parse = ledger.ParseCSV
	default:
		return nil, nil, fmt.Errorf("%q: a ledger is a FILE.yaml or FILE.csv", file)
	}
	src, err := source.ReadFile(file)
	if err != nil {
		return nil, nil, err
	}
	if job.Is(file, src) {
		return keep.Ledger(file)
	}
	k.File(file, src)
	l, err = parse(file, src)
	return l, nil, err
}

// eachOf hands on every reading of a capture.
func (a *app) eachOf(ctx context.Context, file string, k *keep.Keeper, add func(reading.Reading)) error {
	address, err := source.Parse(file)
	if err == nil && address.Kind != source.Capture {
		err = fmt.Errorf("%s is a meter, where a capture is wanted", file)
	}
	if err != nil {
		return err
	}
	s, err := source.Open(ctx, address, source.Options{Stdin: a.stdin})
	if err != nil {
		return err
	}
	defer s.Close()
	if err := k.Capture(address); err != nil {
		return err
	}
	for {
		r, err := s.Next(ctx)
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		add(r)
	}
}

// writeBill writes the differences as a table.
func writeBill(out io.Writer, r ledger.Result, _ screen.Style) error {
	w := csv.NewWriter(out)
	rows := [][]string{{"from", "to", "register", "before", "after", "multiplier", "difference", "within", "note"}}
	number := func(x float64) string { return fmt.Sprintf("%.10g", x) }
	for _, d := range r.Differences {
		energy := ""
		if x, ok := d.Energy.Get(); ok {
			energy = number(x)
		}
		rows = append(rows, []string{d.From.Format(time.RFC3339), d.To.Format(time.RFC3339), d.Register,
			number(d.Before), number(d.After), number(d.Multiplier), energy, number(d.Within), d.Note})
	}
	return w.WriteAll(rows)
}
