//go:build linux || darwin

package main

import (
	"bufio"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/sim"
)

// practice is a simulated meter that takes orders.
type practice struct {
	t                *testing.T
	meter, registers string
	orders           io.Writer
	said             *bufio.Reader
}

func newPractice(t *testing.T, flags ...string) *practice {
	self, err := os.Executable()
	require.NoError(t, err)
	p := &practice{t: t, registers: filepath.Join(t.TempDir(), "kiln.map.yaml")}
	cmd := exec.Command(self)
	cmd.Args = append([]string{"legwork", "sim", "kiln-house", "--listen", "127.0.0.1:0", "--control", "--map-out",
		p.registers}, flags...)
	p.orders, err = cmd.StdinPipe()
	require.NoError(t, err)
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	said, err := cmd.StderrPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	t.Cleanup(func() { _ = cmd.Process.Kill(); _ = cmd.Wait() })
	p.said = bufio.NewReader(said)
	p.meter, err = bufio.NewReader(out).ReadString('\n')
	require.NoError(t, err)
	p.meter = strings.TrimSpace(p.meter)
	p.hears("interrupt to end")
	return p
}

func (p *practice) hears(want string) {
	p.t.Helper()
	line, err := p.said.ReadString('\n')
	require.NoError(p.t, err)
	require.Contains(p.t, line, want)
}

func (p *practice) order(line, want string) {
	p.t.Helper()
	_, err := fmt.Fprintln(p.orders, line)
	require.NoError(p.t, err)
	p.hears(want)
}

// A load step is practised: the load that is ordered is the one that is seen.
func TestALoadStepIsPractised(t *testing.T) {
	p := newPractice(t, "--fault", "ct1-ct2-crossed")
	for _, c := range []struct {
		leg   int
		faces string
		code  int
	}{{3, "leg 3 on: channel 3 up", exitAgrees}, {1, "leg 1 on: channel 2 down", exitFault}} {
		r := start(t, "loadstep", p.meter, "--map", p.registers, "--service", "120/208Y", "--leg", fmt.Sprint(c.leg),
			"--expect", "8kW", "--interval", "10ms")
		r.until(r.stderr, "waiting") // for the load, once what is on has been seen to stay
		p.order(fmt.Sprintf("leg %d on 8kW", c.leg), fmt.Sprintf("a load of 8000 W is on leg %d", c.leg))
		r.until(r.stdout, c.faces)
		code, _ := r.ends()
		require.Equal(t, c.code, code)
		p.order(fmt.Sprintf("leg %d off", c.leg), "is off")
	}
	p.order("leg 4 on 1kW", "leg 4: 120/208Y has legs 1, 2 and 3")
	p.order("ct9-open", "or write leg 1 on 1.5kW")
}

// So is the tracing of a circuit: off, and after a while on again.
func TestATraceIsPractised(t *testing.T) {
	t.Parallel()
	p := newPractice(t)
	place, err := sim.Open("kiln-house", sim.Options{})
	require.NoError(t, err)
	for _, c := range place.Circuits() { // nothing else comes or goes
		if c != "lamps of the shop" {
			p.order("off "+c, c+" is off")
		}
	}
	p.order("leg 2 on 3kW", "is on leg 2")
	sites := filepath.Join(t.TempDir(), "sites.csv")
	require.NoError(t, os.WriteFile(sites,
		fmt.Appendf(nil, "name,meter,map,service\nsuite-1,%s,%s,120/208Y\n", p.meter, p.registers), 0o600))
	r := start(t, "trace", sites, "--every", "250ms", "--off", "2s", "--format", "json")
	for _, order := range []string{"leg 2 off", "leg 2 on 3kW"} { // real time: the meter is read over a real connection
		time.Sleep(2 * time.Second)
		p.order(order, "leg 2")
	}
	require.Regexp(t, `"meter":"suite-1","channel":2,"power":-?(29|30)\d\d`, r.until(r.stdout, "{"))
}
