//go:build linux || darwin

package serve

import (
	"os"
	"syscall"

	"github.com/creack/pty"
	"golang.org/x/term"
)

// ServePTY serves a serial line through a pseudo-terminal, and gives the name
// of the port to open. A pseudo-terminal carries bytes at any setting; Line.Rate has a
// port at another speed hear nothing. Parity can't be told: Linux takes it off.
func (s *Server) ServePTY(l Line) (string, error) {
	far, near, err := pty.Open()
	if err != nil {
		return "", err
	}
	defer far.Close()
	if _, err := term.MakeRaw(int(near.Fd())); err != nil {
		_ = near.Close()
		return "", err
	}
	end, err := pollable(far)
	if err != nil {
		_ = near.Close()
		return "", err
	}
	return near.Name(), s.ServeRTU(&line{end, near}, l)
}

// line is the far end of a pseudo-terminal. The near end is kept open with it:
// else the line would break whenever a client goes.
type line struct {
	*os.File
	near *os.File
}

func (l *line) Close() error {
	_ = l.near.Close()
	return l.File.Close()
}

// pollable is the same end in a mode in which Close ends a read.
func pollable(f *os.File) (*os.File, error) {
	fd, err := syscall.Dup(int(f.Fd()))
	if err != nil {
		return nil, err
	}
	syscall.CloseOnExec(fd)
	if err := syscall.SetNonblock(fd, true); err != nil {
		_ = syscall.Close(fd)
		return nil, err
	}
	return os.NewFile(uintptr(fd), f.Name()), nil
}
