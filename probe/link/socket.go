package link

import (
	"context"
	"errors"
	"net"
	"os"
	"syscall"
	"time"
)

// socket is a wire over a network connection. It reads in the caller's own
// goroutine: to hand bytes on from another takes as long as the exchange itself
// on loopback. What has come is asked of the system, since a read with a short
// deadline costs a millisecond and misses bytes.
type socket struct {
	net.Conn
	raw      syscall.RawConn
	watch    watch
	deadline time.Time // that is set on the connection
}

// newSocket makes a wire of a connection, by a pump where the system can't be
// asked what has come.
func newSocket(conn net.Conn) wire {
	if c, ok := conn.(syscall.Conn); ok {
		if raw, err := c.SyscallConn(); err == nil {
			return &socket{Conn: conn, raw: raw}
		}
	}
	return newPump(conn)
}

func (s *socket) receive(ctx context.Context, into []byte, deadline time.Time) (int, error) {
	if err := s.until(deadline); err != nil {
		return 0, err
	}
	s.watch.begin(ctx, s.Conn)
	n, err := s.Read(into)
	s.watch.finish()
	if n > 0 {
		return n, nil // an error with it comes again with the next read
	}
	if ctx.Err() != nil {
		return 0, ctx.Err()
	}
	if errors.Is(err, os.ErrDeadlineExceeded) {
		return 0, os.ErrDeadlineExceeded
	}
	return 0, err
}

// until sets the deadline of reads, to up to an eighth of the wait later: one
// that is still near enough is left, since setting it takes 2 % of an exchange.
func (s *socket) until(deadline time.Time) error {
	slack := time.Until(deadline) / 8
	if !s.deadline.Before(deadline) && !s.deadline.After(deadline.Add(slack)) {
		return nil
	}
	s.deadline = deadline.Add(max(slack, 0))
	return s.SetReadDeadline(s.deadline)
}

func (s *socket) waiting(into []byte) int {
	n := 0
	if s.raw.Control(func(fd uintptr) { n = pending(fd) }) != nil || n <= 0 {
		return 0
	}
	if s.until(time.Now().Add(time.Second)) != nil {
		return 0
	}
	n, _ = s.Read(into[:min(n, len(into))])
	return n
}

// Close ends the connection.
func (s *socket) Close() error {
	s.watch.end()
	return s.Conn.Close()
}
