package main

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/cmd/legwork/internal/source"
	"legwork/sim"
)

// The README's order of a job works as it stands there; only the port is another,
// the questions are answered, and the live view ends by itself.
func TestTheReadmesOrderOfAJob(t *testing.T) {
	readme, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	_, after, found := strings.Cut(string(readme), "### A job, from start to end\n```sh\n")
	require.True(t, found)
	lines, _, _ := strings.Cut(after, "```")
	served, err := source.ServePlace("kiln-house", sim.Options{Fault: "ct2-reversed"}, 213)
	require.NoError(t, err)
	t.Cleanup(func() { _ = served.Server.Close() })
	host, err := served.Server.ListenTCP("127.0.0.1:0")
	require.NoError(t, err)
	t.Chdir(t.TempDir())

	words := regexp.MustCompile(`"[^"]*"|\S+`)
	// The reads are seconds apart: more than any service carries.
	ends := map[string]int{"record as-found": exitFault, "watch --keep": exitFault, "ledger --keep": exitUndecided}
	for line := range strings.Lines(lines) {
		command, _, _ := strings.Cut(line, "#")
		args := words.FindAllString(strings.TrimSpace(command), -1)[1:]
		for i := range args {
			args[i] = strings.NewReplacer(`"`, "", "/dev/ttyUSB0", host.String()).Replace(args[i])
		}
		switch strings.Join(args[:2], " ") {
		case "watch --keep":
			args = append(args, "--samples", "3", "--interval", "1ms")
		case "phasetest --keep":
			fillTaps(t, "taps.yaml")
		}
		var out, told bytes.Buffer
		code := run(args, strings.NewReader("y\n"), &out, &told)
		require.Equal(t, ends[strings.Join(args[:2], " ")], code, "%s%s%s", line, &out, &told)
		if args[0] == "record" && len(args) > 4 && args[3] == "--move" {
			require.NoError(t, served.Place.SetFault(""))
		}
	}
	page, err := os.ReadFile("kiln.html")
	require.NoError(t, err)
	for _, heading := range []string{"Phase test", "Register reads"} {
		require.Contains(t, string(page), ">"+heading+"</h2>")
	}
	require.Contains(t, string(page), "59.5")
}

// fillTaps writes what a voltmeter showed into the blank places of a worksheet.
func fillTaps(t *testing.T, name string) {
	t.Helper()
	src, err := os.ReadFile(filepath.Clean(name))
	require.NoError(t, err)
	shown := func(line string) string {
		at := regexp.MustCompile(`^(\s*)([A-C1-3])-([1-3N]):`).FindStringSubmatch(line)
		switch {
		case at == nil:
			return line
		case at[3] == "N":
			return at[0] + " 120 V"
		case strings.Index("ABC", at[2]) == strings.Index("123", at[3]):
			return at[0] + " 0.2 V"
		}
		return at[0] + " 208 V"
	}
	var lines []string
	for _, line := range strings.Split(string(src), "\n") {
		lines = append(lines, shown(line))
	}
	text := strings.Join(lines, "\n")
	text = regexp.MustCompile(`(proved-(before|after):)`).ReplaceAllString(text, "$1 true")
	require.NoError(t, os.WriteFile(filepath.Clean(name), []byte(text), 0o600))
}
