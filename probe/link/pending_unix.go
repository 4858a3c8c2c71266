//go:build unix

package link

import (
	"runtime"

	"golang.org/x/sys/unix"
)

// fionread asks how many bytes can be read at once: FIONREAD, which Linux has
// another number for (0x541B, asm-generic/ioctls.h) than BSD and macOS
// (0x4004667F, sys/filio.h; both from memory).
var fionread = map[bool]uint{true: 0x541B, false: 0x4004667F}[runtime.GOOS == "linux"]

// pending is how many bytes can be read at once.
func pending(fd uintptr) int {
	n, err := unix.IoctlGetInt(int(fd), fionread)
	if err != nil {
		return 0
	}
	return n
}
