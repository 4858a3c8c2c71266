//go:build unix

package link

import (
	"errors"
	"os"
	"os/user"
	"strconv"
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"
	"go.bug.st/serial"
)

// What keeps a port from being opened, in words that say what to do.
func TestPortErrors(t *testing.T) {
	file := t.TempDir() + "/port"
	require.NoError(t, os.WriteFile(file, nil, 0o660))
	require.NoError(t, os.Chmod(file, 0o660))
	info, err := os.Stat(file)
	require.NoError(t, err)
	group, err := user.LookupGroupId(strconv.FormatUint(uint64(info.Sys().(*syscall.Stat_t).Gid), 10))
	require.NoError(t, err)
	closed := t.TempDir() + "/root's own"
	require.NoError(t, os.WriteFile(closed, nil, 0o600))

	tests := []struct {
		name, port string
		err        error
		want       string
	}{
		{"not there", file, syscall.ENOENT, "there is no such port; is the adapter plugged in? `legwork ports` lists them"},
		{"no rights, and a group has them", file, syscall.EACCES,
			"this user may not use it; add them to the group " + group.Name + ": sudo usermod -aG " + group.Name + " $USER, then log in again"},
		{"no rights, and no group has them", closed, syscall.EACCES, "this user may not use it; ask whoever looks after this computer"},
		{"no rights, and gone by now", file + "s", syscall.EACCES, "this user may not use it; ask whoever looks after this computer"},
		{"what isn't known is told as it is", file, errors.New("the port is on fire"), "the port is on fire"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			require.EqualError(t, portError(Serial{Port: test.port}, test.err), test.want)
		})
	}
}

// The library's own errors are told by their codes, which only it can make.
func TestPortErrorsOfTheLibrary(t *testing.T) {
	_, err := serial.Open(os.DevNull, &serial.Mode{BaudRate: 9600})
	require.EqualError(t, portError(Serial{Port: os.DevNull}, err), "this is no serial port")
	other := errors.New("other words")
	for code, want := range map[serial.PortErrorCode]string{
		serial.PortBusy:          "another program has this port; close it",
		serial.PortNotFound:      "there is no such port; is the adapter plugged in? `legwork ports` lists them",
		serial.PermissionDenied:  "this user may not use it; ask whoever looks after this computer",
		serial.InvalidSpeed:      "this port can't do 31250 baud",
		serial.InvalidSerialPort: "this is no serial port",
		serial.PortClosed:        "other words",
	} {
		require.EqualError(t, Serial{Port: "/dev/ttyUSB77", Baud: 31250}.trouble(code, other), want)
	}
}
