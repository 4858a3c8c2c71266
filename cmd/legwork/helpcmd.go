package main

import (
	"strings"

	"github.com/spf13/cobra"
)

// readable is how wide help is printed: any terminal has that many columns.
const readable = "80"

// addHelp gives the help command that refuses what there is no help for, and
// folds the lines of flags.
func addHelp(root *cobra.Command) {
	folded := strings.NewReplacer(".FlagUsages", ".FlagUsagesWrapped "+readable)
	root.SetUsageTemplate(folded.Replace(root.UsageTemplate()))
	root.SetHelpCommand(&cobra.Command{
		Use:   "help [command or topic]",
		Short: "Help about any command or topic",
		RunE: func(_ *cobra.Command, args []string) error {
			c, rest, err := root.Find(args)
			if err != nil {
				return err
			}
			if err := noArguments(c, rest); err != nil {
				return err
			}
			return c.Help()
		},
	})
}
