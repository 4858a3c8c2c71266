package link

import (
	"net"
	"syscall"
	"unsafe"

	"golang.org/x/sys/windows"
)

// visit sends and receives on a socket. This system is asked what has come,
// since a read with a short deadline costs a millisecond and misses bytes.
type visit struct {
	net.Conn
	raw syscall.RawConn
}

// newVisit gives nil for a connection that the system doesn't know.
func newVisit(conn net.Conn) *visit {
	c, ok := conn.(syscall.Conn)
	if !ok {
		return nil
	}
	raw, err := c.SyscallConn()
	if err != nil {
		return nil
	}
	return &visit{conn, raw}
}

// ask sends adu and gives what comes first after it, or what had come before
// where that is looked for; then nothing was sent. The connection's deadlines
// hold.
func (v *visit) ask(adu, into []byte, how manner) (n int, sent bool, err error) {
	if how == looking && pending(v.raw) > 0 {
		n, err := v.Read(into)
		return n, false, err
	}
	if _, err := v.Write(adu); err != nil {
		return 0, true, err
	}
	n, err = v.Read(into)
	return n, true, err
}

// fionread asks how many bytes can be read at once (Windows Sockets 2,
// ioctlsocket; the value is from memory).
const fionread = 0x4004667F

// pending is how many bytes can be read at once.
func pending(raw syscall.RawConn) int {
	var n, written uint32
	err := raw.Control(func(fd uintptr) {
		if windows.WSAIoctl(windows.Handle(fd), fionread, nil, 0, (*byte)(unsafe.Pointer(&n)), uint32(unsafe.Sizeof(n)),
			&written, nil, 0) != nil {
			n = 0
		}
	})
	if err != nil {
		return 0
	}
	return int(n)
}
