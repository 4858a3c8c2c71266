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

	"legwork/cmd/legwork/internal/screen"
	"legwork/cmd/legwork/internal/source"
	"legwork/diagnose/ledger"
	"legwork/probe/reading"
	"legwork/probe/sheet"
)

type ledgerFlags struct {
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
			"the power that was recorded meanwhile. Exit status: 0 all agrees, 1 something differs,\n" +
			"2 the command, a file or a value was wrong, 3 a difference can't be told.",
		Example: "legwork ledger reads.yaml --capture kiln.jsonl",
		Args:    oneArgument("a FILE"),
		RunE:    func(c *cobra.Command, args []string) error { return a.runLedger(c.Context(), args[0], f) },
	}
	c.Flags().StringVar(&f.format, "format", "text", "`text`, json, or csv: the table for bills")
	c.Flags().StringVar(&f.capture, "capture", "", "compare with the power in a capture `FILE`")
	c.Flags().DurationVar(&f.gap, "gap", ledger.DefaultGap, "how far apart two readings of the capture may be")
	_ = c.RegisterFlagCompletionFunc("format", cobra.FixedCompletions([]string{"text", "json", "csv"}, cobra.ShellCompDirectiveNoFileComp))
	_ = c.MarkFlagFilename("capture", "jsonl", "csv")
	return c
}

func (a *app) runLedger(ctx context.Context, file string, f ledgerFlags) error {
	switch {
	case f.format != "text" && f.format != "json" && f.format != "csv":
		return fmt.Errorf("--format %q is not text, json or csv", f.format)
	case f.gap <= 0:
		return fmt.Errorf("--gap %s is not above zero", f.gap)
	}
	l, err := openLedger(file)
	var faults *sheet.Faults
	if errors.As(err, &faults) {
		for _, one := range faults.List {
			fmt.Fprintln(a.stderr, one.Error())
		}
		return status(exitWrong)
	}
	if err != nil {
		return err
	}
	var power *ledger.Integral
	if f.capture != "" {
		power = l.Integral(f.gap)
		if err := a.integrate(ctx, f.capture, power); err != nil {
			return err
		}
	}
	r := l.Judge(power)
	if f.format == "csv" {
		err = writeBill(a.stdout, r)
	} else {
		err = a.tell(f.format, r, func(w io.Writer) error { return screen.Ledger(w, r, a.style()) })
	}
	if err != nil {
		return err
	}
	return verdictStatus(string(r.Verdict))
}

// openLedger reads a file of reads; its name says in which form.
func openLedger(file string) (*ledger.Ledger, error) {
	parse := map[string]func(string, []byte) (*ledger.Ledger, error){".yaml": ledger.ParseYAML, ".yml": ledger.ParseYAML, ".csv": ledger.ParseCSV}[strings.ToLower(filepath.Ext(file))]
	if parse == nil {
		return nil, fmt.Errorf("%q: a ledger is a FILE.yaml or FILE.csv", file)
	}
	src, err := source.ReadFile(file)
	if err != nil {
		return nil, err
	}
	return parse(file, src)
}

// integrate hands a capture's readings over.
func (a *app) integrate(ctx context.Context, file string, into *ledger.Integral) error {
	return a.eachOf(ctx, file, into.Add)
}

// eachOf hands on every reading of a capture.
func (a *app) eachOf(ctx context.Context, file string, add func(reading.Reading)) error {
	address, err := source.Parse(file)
	if err == nil && address.Kind != source.Capture {
		err = fmt.Errorf("%s is a meter, where a capture is wanted", file)
	}
	if err != nil {
		return fmt.Errorf("--capture %w", err)
	}
	s, err := source.Open(ctx, address, source.Options{Stdin: a.stdin})
	if err != nil {
		return fmt.Errorf("--capture %w", err)
	}
	defer s.Close()
	for {
		r, err := s.Next(ctx)
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return fmt.Errorf("--capture %w", err)
		}
		add(r)
	}
}

// writeBill writes the differences as a table.
func writeBill(out io.Writer, r ledger.Result) error {
	w := csv.NewWriter(out)
	rows := [][]string{{"from", "to", "register", "before", "after", "multiplier", "difference", "within", "note"}}
	number := func(x float64) string { return fmt.Sprintf("%.10g", x) }
	for _, d := range r.Differences {
		energy := ""
		if x, ok := d.Energy.Get(); ok {
			energy = number(x)
		}
		rows = append(rows, []string{d.From.Format(time.RFC3339), d.To.Format(time.RFC3339), d.Register, number(d.Before), number(d.After),
			number(d.Multiplier), energy, number(d.Within), d.Note})
	}
	return w.WriteAll(rows)
}
