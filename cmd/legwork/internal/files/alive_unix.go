//go:build unix

package files

import (
	"errors"
	"os"
	"syscall"
)

// alive reports a process that hasn't ended (kill(2) with signal 0).
func alive(pid int) bool {
	p, err := os.FindProcess(pid)
	if err != nil {
		return false
	}
	err = p.Signal(syscall.Signal(0))
	return !errors.Is(err, os.ErrProcessDone) && !errors.Is(err, syscall.ESRCH)
}
