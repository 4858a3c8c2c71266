//go:build darwin || dragonfly || freebsd || linux || netbsd || openbsd

package files

import (
	"errors"
	"os"
	"syscall"
)

// TryLock takes a file for this process alone (flock(2)), and says whether it
// could. The lock ends with the file or the process.
func TryLock(f *os.File) (bool, error) {
	for {
		err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
		switch {
		case errors.Is(err, syscall.EINTR):
			continue
		case errors.Is(err, syscall.EWOULDBLOCK):
			return false, nil
		}
		return err == nil, err
	}
}
