package main

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/files"
	"legwork/cmd/legwork/internal/keep"
	"legwork/cmd/legwork/internal/record"
	"legwork/cmd/legwork/internal/report"
)

func (a *app) report() *cobra.Command {
	var out string
	c := &cobra.Command{
		Use:     "report JOB.yaml -o FILE",
		GroupID: "paper",
		Short:   "Write what a job's record proves, for those who weren't there: .html, .md or .json",
		Long: "Writes one page that needs nothing else (HTML), Markdown, or JSON, by the ending of FILE.\n" +
			"Exit status: 0; 1 where the record was changed after it was written, or a file that an\n" +
			"entry is from, which the report says.",
		Example: "legwork report kiln.yaml -o kiln.html",
		Args:    oneArgument("a JOB.yaml"),
		RunE:    func(_ *cobra.Command, args []string) error { return a.runReport(args[0], out) },
	}
	c.Flags().StringVarP(&out, "output", "o", "", "`FILE` to write: .html, .md or .json; it is written anew")
	return c
}

func (a *app) runReport(sheet, out string) error {
	if out == "" {
		return fmt.Errorf("say with -o FILE.html, FILE.md or FILE.json where the report goes")
	}
	j, log, err := keep.Open(sheet, a.recordWait())
	if err != nil {
		return err
	}
	if len(log.Entries) == 0 && len(log.Findings) == 0 {
		return fmt.Errorf("%s: %w", j.RecordFile(), record.ErrNone)
	}
	log.CheckFiles(j.RecordFile())
	src, err := os.ReadFile(sheet)
	if err != nil {
		return err
	}
	r := &report.Report{Job: j, Record: filepath.Base(j.RecordFile()), Log: log, Made: time.Now(), Sheet: record.Seal(src)}
	write := map[string]func(io.Writer) error{".html": r.HTML, ".htm": r.HTML, ".md": r.Markdown,
		".json": r.JSON}[strings.ToLower(filepath.Ext(out))]
	if write == nil {
		return fmt.Errorf("-o %s: a report is .html, .md or .json", out)
	}
	var b bytes.Buffer
	if err := write(&b); err != nil {
		return err
	}
	to := files.Output{Name: out, Kind: "a report of legwork", Own: report.Is}
	if err := to.Write(b.Bytes()); err != nil {
		return fmt.Errorf("-o %w", err)
	}
	if _, err := fmt.Fprintf(a.stdout, "%s: %d bytes\n", out, b.Len()); err != nil {
		return err
	}
	return a.changed(log)
}
