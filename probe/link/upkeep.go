package link

import (
	"context"
	"io"
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

// upkeep keeps one connection of some kind, made anew when it breaks. Whoever
// has the asker's turn may use it; shut may come from anywhere.
type upkeep[C io.Closer] struct {
	dial        func(context.Context) (C, error)
	dialTimeout time.Duration
	life        context.Context // until shut
	end         context.CancelFunc

	mu   sync.Mutex // guards conn and open
	conn C
	open bool

	again    func()    // told of each connection after the first; may be nil
	dialled  int       // connections made
	answered bool      // this connection has brought a good answer
	failures int       // since the last good answer
	earliest time.Time // of the next dial
}

func newUpkeep[C io.Closer](dial func(context.Context) (C, error), timeout time.Duration) upkeep[C] {
	life, end := context.WithCancel(context.Background())
	return upkeep[C]{dial: dial, dialTimeout: timeout, life: life, end: end}
}

// keeper is what an asker needs of an upkeep, whatever it keeps.
type keeper interface {
	served() bool
	drop() bool
	good()
	failed()
	wait(ctx context.Context, d time.Duration) error
	shut()
}

// connect gives the connection, made anew where there is none.
func (u *upkeep[C]) connect(ctx context.Context) (C, error) {
	u.mu.Lock()
	conn, open := u.conn, u.open
	u.mu.Unlock()
	if open {
		return conn, nil
	}
	var none C
	if err := u.wait(ctx, time.Until(u.earliest)); err != nil {
		return none, err
	}
	inTime, cancel := context.WithTimeout(ctx, u.dialTimeout)
	defer cancel()
	defer context.AfterFunc(u.life, cancel)()
	conn, err := u.dial(inTime)
	switch {
	case err == nil:
		return conn, u.keep(conn)
	case ctx.Err() != nil:
		return none, stopped{ctx.Err()}
	}
	u.failed()
	return none, u.orClosed(dialError{err})
}

// keep takes a new connection into use, unless Close came first.
func (u *upkeep[C]) keep(conn C) error {
	u.mu.Lock()
	defer u.mu.Unlock()
	if u.life.Err() != nil {
		_ = conn.Close()
		return ErrClosed
	}
	u.conn, u.open, u.answered = conn, true, false
	if u.dialled++; u.dialled > 1 && u.again != nil {
		u.again()
	}
	return nil
}

// wait lets d go by, unless the context or the link ends first.
func (u *upkeep[C]) wait(ctx context.Context, d time.Duration) error {
	if ctx.Err() != nil {
		return stopped{ctx.Err()}
	}
	if d <= 0 {
		return u.orClosed(nil)
	}
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-timer.C:
		return nil
	case <-ctx.Done():
		return stopped{ctx.Err()}
	case <-u.life.Done():
		return ErrClosed
	}
}

// orClosed is err, or ErrClosed where that explains it.
func (u *upkeep[C]) orClosed(err error) error {
	if u.life.Err() != nil {
		return ErrClosed
	}
	return err
}

// failed notes a failure and sets the pause that comes of it.
func (u *upkeep[C]) failed() {
	u.failures++
	if u.failures < 2 {
		return
	}
	pause := longPause
	if doublings := u.failures - 2; doublings < 6 { // 100 ms x 2^6 is beyond longPause
		pause = firstPause << doublings
	}
	u.earliest = time.Now().Add(min(pause, longPause))
}

// drop gives the connection up and reports whether there was one.
func (u *upkeep[C]) drop() bool {
	u.mu.Lock()
	defer u.mu.Unlock()
	if !u.open {
		return false
	}
	_ = u.conn.Close()
	u.open = false
	return true
}

// shut ends it for good.
func (u *upkeep[C]) shut() {
	u.end()
	u.drop()
}

// good notes that the connection brought an answer.
func (u *upkeep[C]) good() { u.answered, u.failures = true, 0 }

// served reports whether the connection has brought a good answer.
func (u *upkeep[C]) served() bool { return u.answered }
