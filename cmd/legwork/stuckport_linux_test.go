package main

import (
	"os"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

// stuckPort is a serial port that takes no byte: its output is stopped
// (TCOOFF, tcflow(3)), so that a write to it never comes back.
func stuckPort(t *testing.T) string {
	far, near, err := pty.Open()
	require.NoError(t, err)
	t.Cleanup(func() { _ = far.Close(); _ = near.Close() })
	require.NoError(t, unix.IoctlSetInt(int(near.Fd()), unix.TCXONC, unix.TCOOFF))
	return near.Name()
}

// Every command ends on such a port, and says which it is and what to do: by
// itself within its time-out and the driver's overtime, and on a signal at once.
func TestCommandsEndOnAStuckPort(t *testing.T) {
	t.Parallel() // most of it is waiting
	const advice = "this computer does not come back from writing to the port; unplug the adapter and plug it in again"
	for _, args := range [][]string{{"line"}, {"find"}, {"read", "--map", "sunspec"}, {"diagnose", "--map", "sunspec"}} {
		t.Run(args[0], func(t *testing.T) {
			port := stuckPort(t)
			meter := "rtu://" + port
			begun := time.Now()
			code, told := start(t, append(args, meter)...).ends()
			require.Equal(t, exitUnread, code, told)
			require.Contains(t, told, "rtu "+port)
			require.Contains(t, told, advice)
			require.Less(t, time.Since(begun), 15*time.Second, "a second for an answer, two for the port, and this machine's own")
		})
	}
	t.Run("interrupted", func(t *testing.T) {
		r := start(t, "line", "rtu://"+stuckPort(t), "--timeout", "1h")
		time.Sleep(1500 * time.Millisecond) // it is writing by now
		begun := time.Now()
		require.NoError(t, r.cmd.Process.Signal(os.Interrupt))
		code, told := r.ends()
		require.Equal(t, exitUnread, code, told)
		require.Contains(t, told, "stopped after")
		require.Less(t, time.Since(begun), 10*time.Second)
	})
}
