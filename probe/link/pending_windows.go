package link

import (
	"unsafe"

	"golang.org/x/sys/windows"
)

// fionread asks how many bytes can be read at once (Windows Sockets 2,
// ioctlsocket; the value is from memory).
const fionread = 0x4004667F

// pending is how many bytes can be read at once.
func pending(fd uintptr) int {
	var n, written uint32
	err := windows.WSAIoctl(windows.Handle(fd), fionread, nil, 0, (*byte)(unsafe.Pointer(&n)), uint32(unsafe.Sizeof(n)), &written, nil, 0)
	if err != nil {
		return 0
	}
	return int(n)
}
