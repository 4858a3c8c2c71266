//go:build unix

package link

import (
	"errors"
	"io"
	"net"
	"os"
	"syscall"

	"golang.org/x/sys/unix"
)

// visit sends and receives in one call on a socket: it looks for bytes that had
// come before, sends, waits, and reads. Done one by one this takes a system call
// more, since a read tries before it waits, and a twentieth of an exchange here.
type visit struct {
	raw   syscall.RawConn
	steps func(fd uintptr) bool // of ask, made once

	adu, into []byte
	how       manner
	sent      bool
	n         int
	err       error
}

// errFull says that a connection takes no more, not even a request.
var errFull = errors.New("the other side takes no more bytes")

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
	v := &visit{raw: raw}
	v.steps = v.step
	return v
}

// ask sends adu and gives what comes first after it, or what had come before
// where that is looked for; then nothing was sent. The connection's deadlines
// hold.
func (v *visit) ask(adu, into []byte, how manner) (n int, sent bool, err error) {
	v.adu, v.into, v.how, v.sent, v.n, v.err = adu, into, how, false, 0, nil
	err = v.raw.Read(v.steps)
	if v.sent && errors.Is(err, os.ErrDeadlineExceeded) {
		// What had come before, and left no room for more, is not announced again.
		if v.raw.Control(func(fd uintptr) { v.read(fd) }) == nil && v.n > 0 {
			err = nil
		}
	}
	if err != nil {
		return 0, v.sent, err
	}
	return v.n, v.sent, v.err
}

// step is true when there is no more to wait for.
func (v *visit) step(fd uintptr) bool {
	if v.sent {
		return v.read(fd)
	}
	if v.how == looking && v.read(fd) {
		return true
	}
	v.sent = true
	n, err := ignoringSignals(fd, v.adu, unix.Write)
	if err == nil && n < len(v.adu) || err == unix.EAGAIN {
		err = errFull // a request half sent can't be mended
	}
	v.err = err
	return err != nil || v.how == regardless && v.read(fd)
}

// read is false where nothing has come.
func (v *visit) read(fd uintptr) bool {
	n, err := ignoringSignals(fd, v.into, unix.Read)
	switch {
	case err == unix.EAGAIN:
		return false
	case err == nil && n == 0:
		err = io.EOF
	}
	v.n, v.err = max(n, 0), err
	return true
}

func ignoringSignals(fd uintptr, b []byte, call func(int, []byte) (int, error)) (int, error) {
	for {
		n, err := call(int(fd), b)
		if err != unix.EINTR {
			return n, err
		}
	}
}
