package link

import (
	"context"
	"net"
	"os"
	"sync"
	"time"
)

// pump is a wire over a connection that the system can't be asked about, as one
// within the process. It has one reader that never stops, since what
// has come can't be had without waiting: a read with a short
// deadline costs a millisecond, and misses bytes.
type pump struct {
	net.Conn
	came  chan struct{} // holds a token while there may be news
	timer *time.Timer

	mu  sync.Mutex
	in  []byte // what came and was not taken
	err error  // what ended the reader
}

// mostUntaken bounds what is kept for a reader that doesn't come.
const mostUntaken = 64 << 10

func newPump(conn net.Conn) *pump {
	p := &pump{Conn: conn, came: make(chan struct{}, 1), timer: time.NewTimer(time.Hour)}
	go p.run()
	return p
}

func (p *pump) run() {
	buffer := make([]byte, 2*maxRTU)
	for {
		n, err := p.Read(buffer)
		p.mu.Lock()
		if len(p.in) < mostUntaken {
			p.in = append(p.in, buffer[:n]...)
		}
		p.err = err
		p.mu.Unlock()
		select {
		case p.came <- struct{}{}:
		default:
		}
		if err != nil {
			return
		}
	}
}

// take gives what has come, or what ended the reader.
func (p *pump) take(into []byte) (int, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if len(p.in) == 0 {
		return 0, p.err
	}
	n := copy(into, p.in)
	p.in = p.in[:copy(p.in, p.in[n:])]
	return n, nil
}

func (p *pump) ask(ctx context.Context, q question) (n int, sent bool, err error) {
	if q.how != regardless {
		if n, err := p.take(q.into); n > 0 || err != nil {
			return n, false, err
		}
	}
	_ = p.SetWriteDeadline(q.deadline)
	defer context.AfterFunc(ctx, func() { _ = p.SetWriteDeadline(time.Unix(1, 0)) })()
	if _, err := p.Write(q.adu); err != nil {
		n, err = meant(ctx, 0, err)
		return n, true, err
	}
	n, err = p.receive(ctx, q.into, q.deadline)
	return n, true, err
}

func (p *pump) receive(ctx context.Context, into []byte, deadline time.Time) (int, error) {
	left := time.Until(deadline)
	if ctx.Err() != nil {
		return 0, ctx.Err()
	}
	if left <= 0 { // a reader that finds bytes for ever must come to an end
		return 0, os.ErrDeadlineExceeded
	}
	p.timer.Reset(left)
	for {
		if n, err := p.take(into); n > 0 || err != nil {
			return n, err
		}
		select {
		case <-p.came:
		case <-p.timer.C:
			return 0, os.ErrDeadlineExceeded
		case <-ctx.Done():
			return 0, ctx.Err()
		}
	}
}
