//go:build unix

package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"regexp"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/cmd/legwork/internal/fleet"
	"legwork/cmd/legwork/internal/survey"
)

// deskProcess is a desk in a process of its own.
type deskProcess struct {
	cmd  *exec.Cmd
	url  string
	mu   sync.Mutex
	told bytes.Buffer
}

// Write keeps what it says.
func (p *deskProcess) Write(b []byte) (int, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.told.Write(b)
}

func (p *deskProcess) said() string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.told.String()
}

func startDesk(t *testing.T, args ...string) *deskProcess {
	self, err := os.Executable()
	require.NoError(t, err)
	p := &deskProcess{cmd: exec.Command(self)}
	p.cmd.Args = append([]string{"legwork", "desk", "--listen", "127.0.0.1:0", "--every", "100ms", "--timeout", "200ms"},
		args...)
	p.cmd.Stderr = p
	out, err := p.cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, p.cmd.Start())
	t.Cleanup(func() { _ = p.cmd.Process.Kill(); _ = p.cmd.Wait() })
	line, err := bufio.NewReader(out).ReadString('\n')
	require.NoError(t, err, p.said())
	p.url = strings.TrimSpace(line)
	return p
}

func (p *deskProcess) get(path string) string {
	r, err := http.Get(p.url + path)
	if err != nil {
		return ""
	}
	defer r.Body.Close()
	b, _ := io.ReadAll(r.Body)
	return string(b)
}

func (p *deskProcess) counts() (c survey.Counts, n int) {
	var r survey.Result
	if json.Unmarshal([]byte(p.get("api/meters")), &r) != nil {
		return c, 0
	}
	return r.Counts, len(r.Meters)
}

// A changed list is taken up on SIGHUP, a wrong one changes nothing, and SIGTERM
// ends it cleanly.
func TestDeskProcess(t *testing.T) {
	f, file := serveYard(t, fleet.Options{Meters: 20, Wires: 2, Seed: 4})
	p := startDesk(t, file)
	read := func(want int) func() bool {
		return func() bool { c, n := p.counts(); return n == want && c.Unreadable <= 1 }
	}
	require.Eventually(t, read(20), 20*time.Second, 20*time.Millisecond)
	require.Equal(t, "ok\n", p.get("healthz"))

	lines := strings.SplitAfter(string(f.Sites()), "\n")
	require.NoError(t, os.WriteFile(file, []byte(strings.Join(lines[:18], "")), 0o600))
	require.NoError(t, p.cmd.Process.Signal(syscall.SIGHUP))
	require.Eventually(t, read(17), 20*time.Second, 20*time.Millisecond)
	require.NoError(t, os.WriteFile(file, []byte("name,meter\na,ftp://b\n"), 0o600))
	require.NoError(t, p.cmd.Process.Signal(syscall.SIGHUP))
	require.Eventually(t, func() bool { return strings.Contains(p.said(), "the list stays as it was") }, 10*time.Second,
		20*time.Millisecond)
	require.Contains(t, p.said(), "sites.csv:2:3:")
	require.True(t, read(17)())
	require.NoError(t, p.cmd.Process.Signal(syscall.SIGTERM))
	require.NoError(t, p.cmd.Wait(), p.said())
}

var infoLine = regexp.MustCompile(`legwork_meter_info\{meter="([^"]+)"`)

// Three desks share a list. One is killed: the others go on with their own
// parts. It returns: every meter is read by one desk, as before.
func TestThreeShards(t *testing.T) {
	yard, file := serveYard(t, fleet.Options{Meters: 60, Wires: 12, Seed: 4})
	start := func(k int) *deskProcess { return startDesk(t, file, "--shard", fmt.Sprintf("%d/3", k)) }
	desks := []*deskProcess{start(1), start(2), start(3)}
	owners := func() map[string]int {
		all := map[string]int{}
		for k, p := range desks {
			for _, m := range infoLine.FindAllStringSubmatch(p.get("metrics"), -1) {
				if all[m[1]] != 0 {
					t.Errorf("%s is read by %d and %d", m[1], all[m[1]], k+1)
				}
				all[m[1]] = k + 1
			}
		}
		return all
	}
	before := owners()
	require.Len(t, before, 60)
	require.NoError(t, desks[1].cmd.Process.Kill())
	_ = desks[1].cmd.Wait()
	for _, k := range []int{0, 2} {
		had, answering := 0, 0
		for name, owner := range before {
			if owner != k+1 {
				continue
			}
			had++
			if m := yard.Find(name); !m.Silent && m.Manner != fleet.Mute {
				answering++
			}
		}
		require.Eventually(t, func() bool {
			c, n := desks[k].counts()
			return n == had && c.Fault+c.Agrees+c.Undecided == answering
		}, 20*time.Second, 20*time.Millisecond)
	}
	desks[1] = start(2)
	require.Equal(t, before, owners())
}
