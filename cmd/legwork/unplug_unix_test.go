//go:build linux || darwin

package main

import (
	"bufio"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/cmd/legwork/internal/source"
	"legwork/sim"
	"legwork/sim/serve"
)

// adapter is a serial adapter that can be pulled and plugged in: a link to the
// pseudo-terminal behind which a place is served.
type adapter struct {
	t      *testing.T
	name   string
	served *source.Served
}

func (a *adapter) plug() {
	var err error
	a.served, err = source.ServePlace("kiln-house", sim.Options{}, 0)
	require.NoError(a.t, err)
	port, err := a.served.Server.ServePTY(serve.Line{})
	require.NoError(a.t, err)
	require.NoError(a.t, os.Symlink(port, a.name))
}

func (a *adapter) pull() {
	require.NoError(a.t, os.Remove(a.name))
	require.NoError(a.t, a.served.Server.Close())
}

// running is legwork as a process of its own, whose lines are waited for.
type running struct {
	t              *testing.T
	cmd            *exec.Cmd
	stdout, stderr chan string
}

func start(t *testing.T, args ...string) *running {
	self, err := os.Executable()
	require.NoError(t, err)
	r := &running{t: t, cmd: exec.Command(self), stdout: make(chan string, 4096), stderr: make(chan string, 4096)}
	r.cmd.Args = append([]string{"legwork"}, args...)
	out, err := r.cmd.StdoutPipe()
	require.NoError(t, err)
	told, err := r.cmd.StderrPipe()
	require.NoError(t, err)
	require.NoError(t, r.cmd.Start())
	t.Cleanup(func() { _ = r.cmd.Process.Kill() })
	go follow(out, r.stdout)
	go follow(told, r.stderr)
	return r
}

func follow(from io.Reader, lines chan<- string) {
	for s := bufio.NewScanner(from); s.Scan(); {
		lines <- s.Text()
	}
	close(lines)
}

// until waits for a line with a text; the lines before it are passed over.
func (r *running) until(lines <-chan string, text string) string {
	r.t.Helper()
	late := time.After(20 * time.Second)
	for {
		select {
		case line, more := <-lines:
			require.True(r.t, more, "ended without %q", text)
			if strings.Contains(line, text) {
				return line
			}
		case <-late:
			require.Fail(r.t, "not told in time", text)
		}
	}
}

// ends gives the exit status and what was told after the lines that were read.
func (r *running) ends() (int, string) {
	var told []string
	for line := range r.stderr {
		told = append(told, line)
	}
	_ = r.cmd.Wait()
	return r.cmd.ProcessState.ExitCode(), strings.Join(told, "\n")
}

// An adapter is pulled while it is read on and on, and plugged in again: both
// are told, a line each, and readings go on.
func TestReadGoesOnWhenTheAdapterIsBack(t *testing.T) {
	a := &adapter{t: t, name: filepath.Join(t.TempDir(), "adapter")}
	a.plug()
	_, own := a.served.Place.Map()
	file := filepath.Join(t.TempDir(), "kiln.yaml")
	require.NoError(t, os.WriteFile(file, own, 0o600))
	args := []string{"read", "rtu://" + a.name + "?baud=115200", "--map", file, "--format", "jsonl", "--timeout", "100ms",
		"--retries", "0"}

	r := start(t, append(args, "--every", "10ms")...)
	r.until(r.stdout, `"channels"`)
	a.pull()
	line := r.until(r.stderr, "no reading: ")
	require.Regexp(t, `^\d\d:\d\d:\d\d  no reading: rtu `+a.name+` 115200 8E1: .*; it is asked on until interrupted$`,
		line)
	for len(r.stdout) > 0 {
		<-r.stdout
	}
	a.plug()
	require.Regexp(t, `^\d\d:\d\d:\d\d  it answers again, after [0-9.]+m?s$`, r.until(r.stderr, ""),
		"and nothing in between")
	r.until(r.stdout, `"channels"`)
	require.NoError(t, r.cmd.Process.Signal(os.Interrupt))
	code, told := r.ends()
	require.Equal(t, exitAgrees, code, told)
	require.Regexp(t, `\A(wire: the connection breaks: .*)?\z`, told) // where it broke more than once

	// A number of readings that was asked for is not waited for without end.
	r = start(t, append(args, "--every", "10ms", "--samples", "100000")...)
	r.until(r.stdout, `"channels"`)
	a.pull()
	code, told = r.ends()
	require.Equal(t, exitUnread, code)
	require.Contains(t, told, "115200 8E1: ")

	// Nor is a meter that never answered.
	r = start(t, append(args, "--every", "10ms")...)
	code, told = r.ends()
	require.Equal(t, exitUnread, code)
	require.Contains(t, told, "there is no such port; is the adapter plugged in?")
}
