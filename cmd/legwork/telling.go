package main

import (
	"context"
	"encoding/json"
	"io"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/flags"
	"legwork/cmd/legwork/internal/keep"
	"legwork/cmd/legwork/internal/record"
	"legwork/cmd/legwork/internal/screen"
	"legwork/diagnose/wiring"
)

// choice is a flag that takes one of some words; the first is the default.
type choice struct {
	into        *string
	name, usage string
	words       []string
}

func (o choice) add(c *cobra.Command) {
	c.Flags().Var(flags.Word(o.into, o.words...), o.name, o.usage)
	complete(c, o.name, o.words)
}

// complete offers words for a flag.
func complete(c *cobra.Command, flag string, words []string) {
	_ = c.RegisterFlagCompletionFunc(flag, cobra.FixedCompletions(words, cobra.ShellCompDirectiveNoFileComp))
}

// addFormat adds the flag of a result that is told as text or JSON.
func addFormat(c *cobra.Command, format *string) {
	choice{format, "format", "`text` or json", []string{"text", "json"}}.add(c)
}

// serviceFlag is the name of a service, checked.
func serviceFlag(c *cobra.Command, service *string, usage string) {
	read := func(name string) (string, error) {
		_, err := wiring.ParseService(name)
		return name, err
	}
	c.Flags().Var(flags.Text(service, "", read), "service", usage)
	complete(c, "service", wiring.ServiceNames())
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
	verdict wiring.Verdict
	result  R
	text    func(io.Writer, R, screen.Style) error
	format  string
	entry   record.Entry // that it makes
}

// give keeps the result where --keep asks for that, tells it, and ends the command
// with the status of its verdict. What was measured is told even where it can't be
// kept.
func (w outcome[R]) give(ctx context.Context, a *app, k *keep.Keeper) error {
	added := k.Add(ctx, w.entry)
	err := tell(a, w.format, w.result, w.text)
	if err == nil {
		err = a.tellKept(added, w.format)
	}
	if err != nil {
		return err
	}
	return verdictStatus(w.verdict)
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
