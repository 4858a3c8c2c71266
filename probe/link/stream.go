package link

import (
	"context"
	"errors"
	"net"
	"os"
	"time"
)

// stream is a TCP connection and what came on it.
type stream struct {
	upkeep[net.Conn]

	in       [2 * maxFrame]byte // what came and is not used: in[from:to]
	from, to int
	received uint64    // bytes, on all connections
	deadline time.Time // of reads and writes on this connection
	visit    *visit    // to this connection; nil for one within the process, or within TLS
	lastByte time.Time
	filled   bool // the last read left no room, so that there may be more
}

// connect gives the connection; a new one begins without bytes.
func (s *stream) connect(ctx context.Context) (net.Conn, error) {
	before := s.dialled
	conn, err := s.upkeep.connect(ctx)
	if s.dialled > before {
		s.from, s.to, s.deadline = 0, 0, time.Time{}
		s.visit, s.lastByte = newVisit(conn), time.Now()
	}
	return conn, err
}

// allow gives reads and writes d from now, and at most an eighth more: a
// deadline that is still far enough is left, since to move it for each request
// takes 2 % of a request on loopback.
func (s *stream) allow(conn net.Conn, now time.Time, d time.Duration) error {
	if !s.deadline.Before(now.Add(d)) {
		return nil
	}
	s.deadline = now.Add(d + d/8)
	if err := conn.SetDeadline(s.deadline); err != nil {
		return s.orClosed(lostError{err})
	}
	return nil
}

// restless is how long a connection may have been idle before it is looked at
// before a request: the other side may have closed it meanwhile. Our choice.
const restless = 100 * time.Millisecond

// ask sends adu, unless something had come before; either way it adds what came
// to the unused bytes.
func (s *stream) ask(conn net.Conn, adu []byte, now time.Time) (sent bool, err error) {
	if s.visit == nil {
		if _, err := conn.Write(adu); err != nil {
			return false, s.orClosed(lostError{err}) // a request half sent can't be mended
		}
		return true, nil
	}
	s.compact()
	how := trusting
	if s.filled || now.Sub(s.lastByte) > restless {
		how = looking
	}
	n, sent, err := s.visit.ask(adu, s.in[s.to:], how)
	return sent, s.came(n, err)
}

// read adds what comes to the unused bytes.
func (s *stream) read(conn net.Conn) error {
	s.compact()
	return s.came(conn.Read(s.in[s.to:]))
}

func (s *stream) compact() {
	if s.from > 0 {
		s.to = copy(s.in[:], s.in[s.from:s.to])
		s.from = 0
	}
}

func (s *stream) came(n int, err error) error {
	s.to += n
	s.received += uint64(n)
	s.filled = s.to == len(s.in)
	if n > 0 {
		s.lastByte = time.Now()
		return nil // an error with it comes again with the next read
	}
	return s.broken(err)
}

// next takes one frame from the unused bytes, nil while it is not whole. It is
// valid until the next read.
func (s *stream) next(cut func([]byte) (int, error)) ([]byte, error) {
	n, err := cut(s.in[s.from:s.to])
	frame := s.in[s.from : s.from+n]
	s.from += n
	if n == 0 {
		return nil, err
	}
	return frame, nil
}

// broken gives the error of a connection its meaning. A deadline that is over
// stays os.ErrDeadlineExceeded.
func (s *stream) broken(err error) error {
	if errors.Is(err, os.ErrDeadlineExceeded) {
		return os.ErrDeadlineExceeded
	}
	return s.orClosed(lostError{err})
}
