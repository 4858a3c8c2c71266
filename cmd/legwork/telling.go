package main

import (
	"encoding/json"
	"fmt"
	"io"

	"github.com/spf13/cobra"

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
