package main

import (
	"bytes"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/files"
	"legwork/cmd/legwork/internal/job"
	"legwork/cmd/legwork/internal/sites"
	"legwork/probe/regmap"
	"legwork/probe/sheet"
)

// format is a sort of file that people write, for their editors.
type format struct {
	name  string
	rules func() []sheet.Rule
	how   sheet.SchemaOptions
}

// formats are those that have a schema; the first is what is given unasked.
var formats = []format{
	{"map", regmap.Rules, sheet.SchemaOptions{Title: "legwork register map"}},
	{"job", job.Rules, sheet.SchemaOptions{Title: "legwork job sheet", Lenient: true}},
	{"sites", sites.Rules, sheet.SchemaOptions{Title: "legwork sites file, row by row", Lenient: true, Rows: true}},
}

func formatNames() []string {
	var names []string
	for _, f := range formats {
		names = append(names, f.name)
	}
	return names
}

// formatOf finds one by its name.
func formatOf(name string) (format, error) {
	i := slices.IndexFunc(formats, func(f format) bool { return f.name == name })
	if i < 0 {
		return format{}, fmt.Errorf("%q has no schema; there are %s", name, strings.Join(formatNames(), ", "))
	}
	return formats[i], nil
}

// schemaBegins is how every schema of ours begins, which tells it from a file
// that somebody else put there.
const schemaBegins = "{\n  \"$comment\": \"legwork map schema "

func (f format) schema() []byte {
	f.how.Comment = "legwork map schema " + f.name
	return sheet.Schema(f.rules(), f.how)
}

// file is the name that the schema has beside the files it is for.
func (f format) file() string { return "legwork-" + f.name + ".schema.json" }

// pointer is the line by which editors' YAML servers find the schema. The path
// counts from the file that has the line: it is the same on every machine, holds
// where nothing is installed or on the network, and goes along with the folder.
func (f format) pointer() string { return "# yaml-language-server: $schema=" + f.file() + "\n" }

// write writes a file with the line that points to the schema, and the schema
// beside it. A schema that can't be had there is no reason to fail: it helps an
// editor, and nothing else.
func (f format) write(out files.Output, content []byte) error {
	if err := out.Write(f.withPointer(content)); err != nil {
		return err
	}
	beside := files.Output{Name: filepath.Join(filepath.Dir(out.Name), f.file()), Kind: "a schema of legwork",
		Own: func(begins []byte) bool { return bytes.HasPrefix(begins, []byte(schemaBegins)) }}
	_ = beside.Write(f.schema())
	return nil
}

// withPointer puts the line for editors before a file of the format.
func (f format) withPointer(text []byte) []byte { return append([]byte(f.pointer()), text...) }

// withoutPointer is what a file of the format says after the line for editors.
func (f format) withoutPointer(text []byte) []byte {
	return bytes.TrimPrefix(text, []byte(f.pointer()))
}

// The formats that commands write.
var mapFormat, jobFormat = formats[0], formats[1]

func (a *app) mapSchema() *cobra.Command {
	return &cobra.Command{
		Use:   "schema [map|job|sites]",
		Short: "Print the JSON schema of register maps, job sheets or sites files, for an editor",
		Long: "Prints a JSON schema: what may stand in a register map, a job sheet, or the rows of a\n" +
			"sites file. Editors that read it offer the names and mark what is wrong while you write.\n" +
			"The first line of a file that legwork writes points to the schema beside it; before a\n" +
			"file of your own put the same:\n\n  " + strings.TrimSuffix(mapFormat.pointer(), "\n"),
		Example:   "legwork map schema > " + mapFormat.file(),
		Args:      atMostOne("what the schema is for"),
		ValidArgs: formatNames(),
		RunE: func(_ *cobra.Command, args []string) error {
			f, err := mapFormat, error(nil)
			if len(args) > 0 {
				f, err = formatOf(args[0])
			}
			if err == nil {
				_, err = a.stdout.Write(f.schema())
			}
			return err
		},
	}
}
