package serve

import "golang.org/x/sys/unix"

// rate is the speed to which a client has set the port, bits per second; 0 where
// it isn't known.
func (l *line) rate() (bits int) {
	c, err := l.near.SyscallConn()
	if err != nil {
		return 0
	}
	_ = c.Control(func(fd uintptr) {
		if t, err := unix.IoctlGetTermios(int(fd), unix.TCGETS2); err == nil {
			bits = int(t.Ospeed)
		}
	})
	return bits
}
