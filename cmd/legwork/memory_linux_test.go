package main

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// readingsText writes readings of the Tidewater kiln house for as long as it is read.
type readingsText struct {
	n, most int
	left    bytes.Buffer
}

func (r *readingsText) Read(p []byte) (int, error) {
	for ; r.n < r.most && r.left.Len() < len(p); r.n++ {
		at := time.Date(2026, 5, 4, 9, 30, r.n, 0, time.UTC).Format(time.RFC3339)
		fmt.Fprintf(&r.left, `{"at":%q,"service":"120/208Y","channels":[`, at)
		for k, amps := range []float64{87.3, 97.6, 91.9} {
			fmt.Fprintf(&r.left, `{"voltage":120.1,"current":%g,"power":%g,"angle":2.9,"voltage_angle":%d}`, amps, 119.9*amps, -120*k)
			r.left.WriteString([]string{",", ",", "]}\n"}[k])
		}
	}
	return r.left.Read(p)
}

// However long a capture is, commands hold a bounded part of it: 45 MB of text
// took a quarter of a gigabyte once.
func TestALongCaptureTakesLittleMemory(t *testing.T) {
	if testing.Short() {
		t.Skip("memory, which the race detector makes larger")
	}
	// A process that is begun counts the peak of the one it was begun from as its own (Linux,
	// exec_mmap), which is that of the tests so far. Kept whole, the readings took 963 MB.
	var own syscall.Rusage
	for _, args := range [][]string{{"clamp", "-", "--reading", "leg 1: 87.3 A"}, {"diagnose", "-"},
		{"energy", "-", "--registered", "100 kWh"}, {"pulses", "-", "--constant", "1000 imp/kWh", "--count", "100", "--over", "10s"}} {
		self, err := os.Executable()
		require.NoError(t, err)
		cmd := exec.Command(self)
		cmd.Args = append([]string{"legwork"}, args...)
		cmd.Stdin = &readingsText{most: 150_000}
		require.NoError(t, syscall.Getrusage(syscall.RUSAGE_SELF, &own))
		out, _ := cmd.CombinedOutput()
		most := cmd.ProcessState.SysUsage().(*syscall.Rusage).Maxrss // KB (getrusage(2))
		require.Less(t, most, max(120<<10, own.Maxrss+40<<10), "%s: %s", args, out)
		require.NotEqual(t, exitWrong, cmd.ProcessState.ExitCode(), "%s", out)
	}
}
