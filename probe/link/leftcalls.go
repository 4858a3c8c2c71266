package link

import (
	"errors"
	"fmt"
	"sync"

	"go.bug.st/serial"
)

// StuckPort says that the system never came back from a call on a serial port.
type StuckPort struct{ call call }

func (e StuckPort) Error() string {
	doing := [...]string{"opening", "writing to", "reading from", "closing"}[e.call]
	return fmt.Sprintf("this computer does not come back from %s the port; unplug the adapter and plug it in again, "+
		"and restart the computer if that does not help", doing)
}

// Timeout is true.
func (e StuckPort) Timeout() bool { return true }

// leftCalls are those on one port, opened again and again, that never came back.
type leftCalls struct {
	mu   sync.Mutex
	n    int
	last StuckPort
}

// mostLeft bounds the goroutines, each with a thread, that are left behind on a
// port. Our choice: a driver that comes back on the third try is worth it.
const mostLeft = 3

func (l *leftCalls) add(s StuckPort) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.n, l.last = l.n+1, s
}

func (l *leftCalls) remove() {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.n--
}

// full gives an error while too many are out.
func (l *leftCalls) full() error {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.n < mostLeft {
		return nil
	}
	return l.last
}

// explains reports whether err, of opening the port anew, comes of a call that
// is still out: it has the port.
func (l *leftCalls) explains(err error) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	var p *serial.PortError
	return l.n > 0 && errors.As(err, &p) && p.Code() == serial.PortBusy
}
