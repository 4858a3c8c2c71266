//go:build packaging

package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func packaged(t *testing.T, args ...string) (code int, said string) {
	var out, errs bytes.Buffer
	code = run(append([]string{"package-files"}, args...), strings.NewReader(""), &out, &errs)
	return code, out.String() + errs.String()
}

// What a package holds beside the program: man pages, completions for every
// shell, schemas. They are the same bytes each time.
func TestPackageFiles(t *testing.T) {
	one, two := filepath.Join(t.TempDir(), "one"), filepath.Join(t.TempDir(), "two")
	for _, folder := range []string{one, two} {
		code, said := packaged(t, folder, "--date", "2026-05-04T09:30:00Z")
		require.Equal(t, 0, code, said)
	}
	for name, want := range map[string]string{
		"man/legwork.1":                    `"May 2026"`,
		"man/legwork-diagnose.1":           "kiln-house",
		"man/legwork-map-schema.1":         "schema",
		"completions/legwork.bash":         "__start_legwork",
		"completions/legwork.zsh":          "#compdef legwork",
		"completions/legwork.fish":         "complete -c legwork",
		"completions/legwork.ps1":          "Register-ArgumentCompleter",
		"schema/legwork-map.schema.json":   "voltage.1",
		"schema/legwork-job.schema.json":   "reference_breaker",
		"schema/legwork-sites.schema.json": "ct_primary",
	} {
		text, err := os.ReadFile(filepath.Join(one, name))
		require.NoError(t, err)
		require.Contains(t, string(text), want, name)
		again, err := os.ReadFile(filepath.Join(two, name))
		require.NoError(t, err)
		require.Equal(t, string(text), string(again), name)
	}
	require.NoFileExists(t, filepath.Join(one, "man", "legwork-package-files.1"))
}

func TestPackageFilesGoIntoANewFolder(t *testing.T) {
	code, said := packaged(t, t.TempDir())
	require.Equal(t, exitWrong, code)
	require.Contains(t, said, "name a new folder")
	code, said = packaged(t, filepath.Join(t.TempDir(), "x"), "--date", "soon")
	require.Equal(t, exitWrong, code)
	require.Contains(t, said, `--date "soon": write one such as`)
}
