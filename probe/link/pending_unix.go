//go:build unix

package link

import "golang.org/x/sys/unix"

// pending is how many bytes can be read at once.
func pending(fd uintptr) int {
	n, err := unix.IoctlGetInt(int(fd), fionread)
	if err != nil {
		return 0
	}
	return n
}
