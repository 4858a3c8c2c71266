package link

import (
	"context"
	"errors"
	"net"
	"os"
	"sync"
	"time"
)

// The pause before a connection is made anew: none after the first failure,
// then doubling between these. Common practice, no source: short enough not to
// be noticed on a ladder, long enough not to keep a gateway busy.
const (
	firstPause = 100 * time.Millisecond
	longPause  = 5 * time.Second
)

// stream is a byte stream that is dialled anew when it breaks. Whoever has the
// asker's turn may use it; shut may come from anywhere.
type stream struct {
	dial        func(context.Context) (net.Conn, error)
	dialTimeout time.Duration
	life        context.Context // until shut
	end         context.CancelFunc

	mu   sync.Mutex // guards conn
	conn net.Conn   // nil while there is none

	in       [2 * maxFrame]byte // what came and is not used: in[from:to]
	from, to int
	received uint64    // bytes, on all connections
	deadline time.Time // of reads and writes on this connection

	dialled  int       // connections made
	answered bool      // this connection has brought a good answer
	failures int       // since the last good answer
	earliest time.Time // of the next dial
}

func newStream(dial func(context.Context) (net.Conn, error), timeout time.Duration) *stream {
	life, end := context.WithCancel(context.Background())
	return &stream{dial: dial, dialTimeout: timeout, life: life, end: end}
}

// connect gives the connection, made anew where there is none.
func (s *stream) connect(ctx context.Context) (net.Conn, error) {
	s.mu.Lock()
	conn := s.conn
	s.mu.Unlock()
	if conn != nil {
		return conn, nil
	}
	if err := s.pause(ctx); err != nil {
		return nil, err
	}
	inTime, cancel := context.WithTimeout(ctx, s.dialTimeout)
	defer cancel()
	defer context.AfterFunc(s.life, cancel)()
	conn, err := s.dial(inTime)
	switch {
	case err == nil:
		return conn, s.keep(conn)
	case ctx.Err() != nil:
		return nil, stopped{ctx.Err()}
	}
	s.failed()
	return nil, s.orClosed(dialError{err})
}

// keep takes a new connection into use, unless Close came first.
func (s *stream) keep(conn net.Conn) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.life.Err() != nil {
		_ = conn.Close()
		return ErrClosed
	}
	s.conn, s.from, s.to, s.answered, s.deadline = conn, 0, 0, false, time.Time{}
	s.dialled++
	return nil
}

// pause waits until the next dial is due.
func (s *stream) pause(ctx context.Context) error {
	return s.wait(ctx, time.Until(s.earliest))
}

// wait lets d go by, unless the context or the link ends first.
func (s *stream) wait(ctx context.Context, d time.Duration) error {
	if ctx.Err() != nil {
		return stopped{ctx.Err()}
	}
	if d <= 0 {
		return s.orClosed(nil)
	}
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-timer.C:
		return nil
	case <-ctx.Done():
		return stopped{ctx.Err()}
	case <-s.life.Done():
		return ErrClosed
	}
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

// read adds what comes to the unused bytes.
func (s *stream) read(conn net.Conn) error {
	if s.from > 0 {
		s.to = copy(s.in[:], s.in[s.from:s.to])
		s.from = 0
	}
	n, err := conn.Read(s.in[s.to:])
	s.to += n
	s.received += uint64(n)
	if n > 0 {
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

// unused is how many bytes of a frame have come that is not whole.
func (s *stream) unused() int { return s.to - s.from }

// broken gives the error of a connection its meaning. A deadline that is over
// stays os.ErrDeadlineExceeded.
func (s *stream) broken(err error) error {
	if errors.Is(err, os.ErrDeadlineExceeded) {
		return os.ErrDeadlineExceeded
	}
	return s.orClosed(lostError{err})
}

// orClosed is err, or ErrClosed where that explains it.
func (s *stream) orClosed(err error) error {
	if s.life.Err() != nil {
		return ErrClosed
	}
	return err
}

// good notes that the connection brought an answer.
func (s *stream) good() { s.answered, s.failures = true, 0 }

// failed notes a failure and sets the pause that comes of it.
func (s *stream) failed() {
	s.failures++
	if s.failures < 2 {
		return
	}
	pause := longPause
	if doublings := s.failures - 2; doublings < 6 { // 100 ms x 2^6 is beyond longPause
		pause = firstPause << doublings
	}
	s.earliest = time.Now().Add(min(pause, longPause))
}

// drop gives the connection up and reports whether there was one.
func (s *stream) drop() bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.conn == nil {
		return false
	}
	_ = s.conn.Close()
	s.conn = nil
	return true
}

// shut ends the stream for good.
func (s *stream) shut() {
	s.end()
	s.drop()
}
