package link

import (
	"runtime"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"legwork/sim/serve"
)

// A port that is open can't be opened again, by us or another program. That
// doesn't bind an administrator (TIOCEXCL, ioctl_tty(2)), so this thread gives
// the right up, and ends with the test.
func TestBusyPort(t *testing.T) {
	name := lineTo(t, serve.New(nil), serve.Line{})
	first, err := OpenRTU(t.Context(), Serial{Port: name}, Options{})
	require.NoError(t, err)
	defer first.Close()
	second := make(chan error)
	go func() {
		runtime.LockOSThread() // and never unlock: the thread is not used again
		if err := giveUp(unix.CAP_SYS_ADMIN); err != nil {
			second <- err
			return
		}
		port := newPorts(Serial{Port: name}.withDefaults())
		_, err := port.open()
		second <- portError(port.Serial, err)
	}()
	require.EqualError(t, <-second, "another program has this port; close it")
}

func giveUp(right int) error {
	header := unix.CapUserHeader{Version: unix.LINUX_CAPABILITY_VERSION_3}
	var sets [2]unix.CapUserData
	if err := unix.Capget(&header, &sets[0]); err != nil {
		return err
	}
	sets[right/32].Effective &^= 1 << (right % 32)
	return unix.Capset(&header, &sets[0])
}
