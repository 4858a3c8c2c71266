package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/record"
	"legwork/cmd/legwork/internal/screen"
)

// addFormat adds the flag of a result that is told as text or JSON.
func addFormat(c *cobra.Command, format *string) {
	c.Flags().StringVar(format, "format", "text", "`text` or json")
	_ = c.RegisterFlagCompletionFunc("format", cobra.FixedCompletions([]string{"text", "json"}, cobra.ShellCompDirectiveNoFileComp))
}

func checkFormat(format string) error {
	if format != "text" && format != "json" {
		return fmt.Errorf("--format %q is not text or json", format)
	}
	return nil
}

// tell writes a result as JSON, or as text by its own function.
func tell[R any](a *app, format string, result R, text func(io.Writer, R, screen.Style) error) error {
	if format == "json" {
		return json.NewEncoder(a.stdout).Encode(result)
	}
	return text(a.stdout, result, a.style())
}

// outcome is a command's result on its way out.
type outcome[R any] struct {
	result R
	text   func(io.Writer, R, screen.Style) error
	format string
	entry  record.Entry // that it makes
}

// give keeps the result where --keep asks for that, and tells it. What was
// measured is told even where it can't be kept.
func (w outcome[R]) give(ctx context.Context, a *app, k *keeping) error {
	added := k.add(ctx, w.entry)
	if err := tell(a, w.format, w.result, w.text); err != nil {
		return err
	}
	return a.tellKept(added, w.format)
}

// verdictStatus is the exit status of a verdict's word.
func verdictStatus[W ~string](word W) error {
	switch word {
	case "agrees":
		return nil
	case "fault":
		return status(exitFault)
	}
	return status(exitUndecided)
}
