package main

import (
	"bytes"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/stretchr/testify/require"

	"legwork/cmd/legwork/internal/screen"
)

// Every command has an example, and what needs no more than the simulator or the job's
// files works on a fresh machine.
func TestExamplesOfHelp(t *testing.T) {
	t.Chdir(t.TempDir())
	legwork := func(args ...string) (int, string) {
		var out, told bytes.Buffer
		code := run(args, strings.NewReader(""), &out, &told)
		return code, out.String() + told.String()
	}
	require.NoError(t, os.WriteFile("kiln.yaml",
		[]byte("legwork-job: 1\nmeter: sim:kiln-house?fault=ct2-reversed\nservice: 120/208Y\n"), 0o600))
	_, said := legwork("record", "as-found", "kiln.yaml", "--samples", "2", "--interval", "1ms")
	require.Contains(t, said, "Recorded as entry 1")
	require.NoError(t, os.WriteFile("sites.csv", []byte("name,meter\nkiln,sim:kiln-house\n"), 0o600))

	// Those that need a wire or a file of one's own, or that go on until interrupted.
	elsewhere := regexp.MustCompile(`/dev/|10\.0\.0|package-files|^legwork (desk|trace|sim|ledger|map check|record (strike|verify)|job new|loadstep|phasetest)`)
	words := regexp.MustCompile(`"[^"]*"|\S+`)
	a := &app{stdin: strings.NewReader(""), stdout: &screen.Guard{To: &bytes.Buffer{}}, stderr: &screen.Guard{To: &bytes.Buffer{}}}
	ran := 0
	var walk func(c *cobra.Command)
	walk = func(c *cobra.Command) {
		for _, sub := range c.Commands() {
			walk(sub)
		}
		if c.Runnable() && c.HasParent() && !c.HasSubCommands() && !c.Hidden && c.Name() != "version" && c.Parent().Name() != "completion" && c.Name() != "help" {
			require.NotEmpty(t, c.Example, c.CommandPath())
		}
		for line := range strings.Lines(c.Example) {
			line, _, _ = strings.Cut(strings.TrimSpace(line), " > ")
			if line == "" || elsewhere.MatchString(line) || !strings.HasPrefix(line, "legwork ") || c.Parent().Name() == "completion" {
				continue
			}
			args := words.FindAllString(line, -1)[1:]
			for i := range args {
				args[i] = strings.Trim(args[i], `"`)
			}
			switch args[0] {
			case "watch", "read":
				args = append(args, "--samples", "2")
			}
			code, said := legwork(args...)
			require.Contains(t, []int{exitAgrees, exitFault, exitUndecided}, code, "%s\n%s", line, said)
			ran++
		}
	}
	walk(a.root())
	require.GreaterOrEqual(t, ran, 11)
}
