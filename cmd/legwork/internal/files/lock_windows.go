package files

import (
	"errors"
	"os"

	"golang.org/x/sys/windows"
)

// TryLock takes a file for this process alone, and says whether it could. It
// locks a byte behind any end (LockFileEx), so that others may read meanwhile.
func TryLock(f *os.File) (bool, error) {
	err := windows.LockFileEx(windows.Handle(f.Fd()), windows.LOCKFILE_EXCLUSIVE_LOCK|windows.LOCKFILE_FAIL_IMMEDIATELY,
		0, 1, 0, &windows.Overlapped{OffsetHigh: 1 << 30})
	if errors.Is(err, windows.ERROR_LOCK_VIOLATION) || errors.Is(err, windows.ERROR_IO_PENDING) {
		return false, nil
	}
	return err == nil, err
}
