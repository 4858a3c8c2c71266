//go:build packaging

package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/cobra/doc"

	"legwork/cmd/legwork/internal/files"
)

// packageFiles makes what a package holds beside the program. Who makes a release
// runs it, through .goreleaser.yaml; the program that is shipped is half a
// megabyte smaller without it.
func (a *app) packageFiles() []*cobra.Command {
	var date string
	c := &cobra.Command{
		Use:     "package-files FOLDER",
		Hidden:  true,
		Short:   "Write man pages, completions and schemas into a new folder",
		Example: "legwork package-files made",
		Args:    oneArgument("a FOLDER"),
		RunE: func(c *cobra.Command, args []string) error {
			at, err := time.Parse(time.RFC3339, date)
			if err != nil {
				return fmt.Errorf("--date %q: write one such as 2026-05-04T09:30:00Z", date)
			}
			return writePackageFiles(c.Root(), args[0], at)
		},
	}
	c.Flags().StringVar(&date, "date", "1970-01-01T00:00:00Z", "`DATE` of the man pages")
	return []*cobra.Command{c}
}

func writePackageFiles(root *cobra.Command, folder string, at time.Time) error {
	if err := os.Mkdir(folder, 0o755); err != nil {
		return fmt.Errorf("%s: %w; name a new folder", folder, files.Plain(err))
	}
	man, completions, schemas := filepath.Join(folder, "man"), filepath.Join(folder, "completions"), filepath.Join(folder, "schema")
	for _, one := range []string{man, completions, schemas} {
		if err := os.Mkdir(one, 0o755); err != nil {
			return err
		}
	}
	root.DisableAutoGenTag = true
	err := doc.GenManTree(root, &doc.GenManHeader{Title: "LEGWORK", Section: "1", Date: &at, Source: "legwork " + version}, man)
	for _, f := range formats {
		err = errors.Join(err, os.WriteFile(filepath.Join(schemas, f.file()), f.schema(), 0o644))
	}
	return errors.Join(err, root.GenBashCompletionFileV2(filepath.Join(completions, "legwork.bash"), true),
		root.GenZshCompletionFile(filepath.Join(completions, "legwork.zsh")),
		root.GenFishCompletionFile(filepath.Join(completions, "legwork.fish"), true),
		root.GenPowerShellCompletionFileWithDesc(filepath.Join(completions, "legwork.ps1")))
}
