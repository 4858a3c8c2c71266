package main

import (
	"encoding/json"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/flags"
	"legwork/cmd/legwork/internal/job"
	"legwork/cmd/legwork/internal/record"
	"legwork/cmd/legwork/internal/screen"
	"legwork/diagnose"
)

// recordOf finds the record that an argument names: itself, or by its sheet.
func recordOf(file string) string {
	switch strings.ToLower(filepath.Ext(file)) {
	case ".yaml", ".yml":
		return job.RecordFile(file)
	}
	return file
}

// readRecord reads a record that holds something, and the files that it cites.
func (a *app) readRecord(file string) (*record.Log, error) {
	log, err := record.At(file).Waiting(a.recordWait()).Read()
	if err != nil {
		return nil, err
	}
	if len(log.Entries) == 0 && len(log.Findings) == 0 {
		return nil, fmt.Errorf("%s: %w", file, record.ErrNone)
	}
	log.CheckFiles(file)
	return log, nil
}

func (a *app) recordShow() *cobra.Command {
	var format string
	c := &cobra.Command{
		Use:     "show FILE",
		Short:   "Show the entries of a record, named by itself or by its job sheet",
		Example: "legwork record show kiln.yaml",
		Args:    oneArgument("a FILE"),
		RunE: func(_ *cobra.Command, args []string) error {
			log, err := a.readRecord(recordOf(args[0]))
			if err != nil {
				return err
			}
			if format == "json" {
				return a.recordJSON(log, log.ShownWhole())
			}
			if err := screen.Record(a.stdout, log, a.style()); err != nil {
				return err
			}
			return a.changed(log)
		},
	}
	addFormat(c, &format)
	return c
}

// recordJSON writes what is shown of a record for scripts.
func (a *app) recordJSON(log *record.Log, shown record.Shown) error {
	err := json.NewEncoder(a.stdout).Encode(struct {
		Legwork int `json:"legwork"`
		record.Shown
	}{diagnose.ResultVersion, shown})
	if err != nil {
		return err
	}
	return a.changed(log)
}

// changed ends the command with a fault where the record was changed, or what
// proves an entry of it.
func (a *app) changed(log *record.Log) error {
	if len(log.Findings) > 0 || slices.ContainsFunc(log.Cited, record.Cited.Broken) {
		return status(exitFault)
	}
	return nil
}

func (a *app) recordVerify() *cobra.Command {
	var format, seal string
	c := &cobra.Command{
		Use:   "verify FILE",
		Short: "Say whether a record is as it was written, and which entries aren't",
		Long: "Follows the chain of a record, named by itself or by its job sheet, and compares the files\n" +
			"that its entries are from. Exit status: 0 as it was written, 1 changed, or an entry can't be\n" +
			"proved any more, 2 not a record. A chain holds no secret: hold it against a printed report\n" +
			"with --seal.",
		Example: "legwork record verify kiln.record.jsonl --seal 3f9c2a71",
		Args:    oneArgument("a FILE"),
		RunE: func(_ *cobra.Command, args []string) error {
			log, err := a.readRecord(recordOf(args[0]))
			if err != nil {
				return err
			}
			log.Hold(seal)
			if format == "json" {
				return a.recordJSON(log, log.Shown())
			}
			return a.tellVerified(recordOf(args[0]), log)
		},
	}
	addFormat(c, &format)
	c.Flags().Var(flags.Text(&seal, "", parseSeal), "seal",
		"a seal from a printed report, `HEX` digits, at least 8, that must be in the chain")
	return c
}

// parseSeal reads the beginning of a seal as it is printed, in groups of digits.
func parseSeal(text string) (string, error) {
	seal := strings.ToLower(strings.Join(strings.Fields(text), ""))
	wrong := len(seal) < 8 || strings.Trim(seal, "0123456789abcdef") != ""
	return seal, flags.Unless(wrong, "%q is not 8 or more hexadecimal digits", seal)
}

func (a *app) tellVerified(file string, log *record.Log) error {
	for _, f := range log.Findings {
		fmt.Fprintf(a.stdout, "%s: %s\n", file, f)
	}
	for _, c := range log.Cited {
		if c.Broken() {
			fmt.Fprintf(a.stdout, "%s: %s\n", file, c)
		} else {
			fmt.Fprintf(a.stderr, "note: %s\n", c)
		}
	}
	for _, r := range log.Remarks {
		fmt.Fprintf(a.stderr, "note: %s\n", r)
	}
	if len(log.Findings) == 0 {
		entries := screen.Count(len(log.Entries), "entry", "entries")
		fmt.Fprintf(a.stdout, "%s: %s, unbroken; last seal %s\n", file, entries, log.LastSeal())
	}
	return a.changed(log)
}
