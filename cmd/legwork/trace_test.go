package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/cmd/legwork/internal/fleet"
)

// serveYard serves simulated meters and writes their list.
func serveYard(t *testing.T, o fleet.Options) (*fleet.Fleet, string) {
	f, err := fleet.Serve(o)
	require.NoError(t, err)
	t.Cleanup(func() { _ = f.Close() })
	dir := t.TempDir()
	for name, src := range f.Maps {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), src, 0o600))
	}
	file := filepath.Join(dir, "sites.csv")
	require.NoError(t, os.WriteFile(file, f.Sites(), 0o600))
	return f, file
}

// A breaker is opened and closed while the meters are watched; the one that
// followed gets its name in the list, where its main and all else stay.
func TestTraceNamesTheMeter(t *testing.T) {
	t.Parallel()
	f, file := serveYard(t, fleet.Options{Meters: 6, Wires: 2, Seed: 4})
	for _, m := range f.Meters { // nothing but the circuit comes or goes
		for _, c := range m.Place.Circuits() {
			if c != "cold room" && c != "lamps" && c != "refrigerator" {
				require.NoError(t, m.Place.Break(c, true))
			}
		}
	}
	traced := f.Find("suite-4")
	go func() { // real time: the meters are read over real connections
		for _, open := range []bool{true, false} {
			select {
			case <-time.After(2 * time.Second):
				_ = traced.Place.Break("lamps", open)
			case <-t.Context().Done():
				return
			}
		}
	}()
	var out, told bytes.Buffer
	code := run([]string{"trace", file, "--every", "250ms", "--off", "2s", "--format", "json", "--into", file, "--as",
		"suite, east"}, strings.NewReader(""), &out, &told)
	require.Equal(t, exitAgrees, code, told.String())
	require.Regexp(t, `^\{"at":"[^"]+","meter":"suite-4","channel":1,"power":-?\d+(\.\d+)?,"probability":0\.\d+,`,
		out.String())
	src, err := os.ReadFile(file)
	require.NoError(t, err)
	require.Equal(t, strings.Replace(string(f.Sites()), "suite-4,", "\"suite, east\",", 1), string(src))
	require.Contains(t, told.String(), "suite-4 is now suite, east")
}

func TestTraceRefuses(t *testing.T) {
	dir := t.TempDir()
	list := filepath.Join(dir, "s.csv")
	require.NoError(t, os.WriteFile(list, []byte("name,meter\na,day.jsonl\nb,sim:kiln-house\n"), 0o600))
	for line, want := range map[string]string{
		"trace " + list:                                 "a: day.jsonl is no meter that can be watched",
		"trace " + list + " --as x":                     "--into FILE and --as NAME go together",
		"trace " + list + " --into " + list + " --as b": `there is a meter "b" already`,
		"trace " + list + " --off 0s":                   "times above 0",
		"trace " + dir + "/none.csv":                    "no such file",
	} {
		var out, told bytes.Buffer
		require.Equal(t, exitWrong, run(strings.Fields(line), strings.NewReader(""), &out, &told), line)
		require.Contains(t, told.String(), want)
	}
}
