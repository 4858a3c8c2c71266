package link

import (
	"context"
	"errors"
	"net"
	"os"
	"time"
)

// socket is a wire over a network connection. It reads in the caller's own
// goroutine: to hand bytes on from another takes as long as the exchange itself
// on loopback.
type socket struct {
	net.Conn
	visit    *visit
	watch    watch
	deadline time.Time // that is set on the connection
	slack    time.Duration
}

// newSocket makes a wire of a connection, by a pump where the system can't be
// asked what has come.
func newSocket(conn net.Conn) wire {
	if v := newVisit(conn); v != nil {
		return &socket{Conn: conn, visit: v}
	}
	return newPump(conn)
}

func (s *socket) ask(ctx context.Context, q question) (n int, sent bool, err error) {
	s.watch.begin(ctx, s.Conn)
	if err = s.until(q.deadline); err == nil {
		n, sent, err = s.visit.ask(q.adu, q.into, q.how)
	}
	s.watch.finish()
	n, err = meant(ctx, n, err)
	return n, sent, err
}

func (s *socket) receive(ctx context.Context, into []byte, deadline time.Time) (n int, err error) {
	s.watch.begin(ctx, s.Conn)
	if err = s.until(deadline); err == nil {
		n, err = s.Read(into)
	}
	s.watch.finish()
	return meant(ctx, n, err)
}

// meant gives the end of a read its meaning.
func meant(ctx context.Context, n int, err error) (int, error) {
	switch {
	case n > 0 || err == nil:
		return n, nil // an error with it comes again with the next read
	case ctx.Err() != nil:
		return 0, ctx.Err()
	case errors.Is(err, os.ErrDeadlineExceeded):
		return 0, os.ErrDeadlineExceeded
	}
	return 0, err
}

// until sets the deadline, to up to an eighth of the wait later: one that is
// still near enough is left, since setting it takes 2 % of an exchange.
func (s *socket) until(deadline time.Time) error {
	if early := s.deadline.Sub(deadline); early >= 0 && early <= s.slack {
		return nil
	}
	s.slack = max(time.Until(deadline)/8, 0)
	s.deadline = deadline.Add(s.slack)
	return s.SetDeadline(s.deadline)
}

// Close ends the connection.
func (s *socket) Close() error {
	s.watch.end()
	return s.Conn.Close()
}
