//go:build unix

package main

import (
	"io"
	"os"
	"os/exec"
	"strings"
	"testing"

	"github.com/creack/pty"
	"github.com/stretchr/testify/require"

	"legwork/cmd/legwork/internal/source"
	"legwork/sim"
)

// onTerminal is every byte that legwork writes to a terminal of 80 columns.
func onTerminal(t *testing.T, env []string, args ...string) string {
	self, err := os.Executable()
	require.NoError(t, err)
	cmd := exec.Command(self)
	cmd.Args = append([]string{"legwork"}, args...)
	cmd.Env = append(os.Environ(), append([]string{"TERM=xterm-256color", "LC_ALL=C.UTF-8"}, env...)...)
	f, err := pty.StartWithSize(cmd, &pty.Winsize{Cols: 80, Rows: 24})
	require.NoError(t, err)
	defer f.Close()
	said, _ := io.ReadAll(f) // the end of a pseudo-terminal is an error on Linux
	_ = cmd.Wait()
	return strings.ReplaceAll(string(said), "\r\n", "\n")
}

// With --plain, or LEGWORK_PLAIN set, a screen reader is given lines of plain
// words: nothing is drawn, coloured or written over, on any screen.
func TestPlainOnATerminal(t *testing.T) {
	served, err := source.ServePlace("kiln-house", sim.Options{}, 0)
	require.NoError(t, err)
	t.Cleanup(func() { _ = served.Server.Close() })
	addr, err := served.Server.ListenTCP("127.0.0.1:0")
	require.NoError(t, err)
	at := addr.String()
	for _, c := range []struct {
		args string
		want string
	}{
		{"diagnose sim:kiln-house --fault ct2-reversed", "channel 2, 1"},
		{"diagnose sim:kiln-house --fault ct2-reversed --full", "current 2 at "},
		{"watch sim:kiln-house --fault ct2-reversed --samples 3 --interval 1ms", "CT 2 is reversed"},
		{"read sim:kiln-house --seed 5", "lag 3."},
		{"find " + at, "Next: legwork start"},
		{"sim", "Places"},
	} {
		for _, how := range []struct{ env, flag string }{{"LEGWORK_PLAIN=1", ""}, {"X=", " --plain"}} {
			said := onTerminal(t, []string{how.env}, strings.Fields(c.args+how.flag)...)
			require.Contains(t, said, c.want, c.args)
			for _, line := range strings.Split(said, "\n") {
				if !strings.HasPrefix(c.args, "find") { // a METER isn't broken
					require.LessOrEqual(t, len(line), 80, line)
				}
				require.NotRegexp(t, `[^\x20-\x7e]`, line, c.args)
			}
		}
	}
}

// NO_COLOR and a dumb terminal: no sequence reaches it, and what is said is the
// same.
func TestNoColourOnATerminal(t *testing.T) {
	args := []string{"diagnose", "sim:kiln-house", "--fault", "ct2-reversed", "--seed", "3"}
	coloured := onTerminal(t, nil, args...)
	require.Contains(t, coloured, "\x1b[")
	for _, env := range []string{"NO_COLOR=1", "TERM=dumb"} {
		said := onTerminal(t, []string{env}, args...)
		require.NotContains(t, said, "\x1b", env)
		require.Contains(t, said, "FAULT  CT 2 is reversed", env)
		require.Contains(t, said, "CT reversed", env)
	}
	said := onTerminal(t, []string{"TERM=dumb"}, "find", "127.0.0.1:1", "--units", "1", "--timeout", "50ms")
	require.NotContains(t, said, "\x1b")
}
