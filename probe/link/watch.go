package link

import (
	"context"
	"net"
	"sync"
)

// watch closes a connection when the context of the request in flight ends. It
// stays registered from request to request while their context is the same, as
// that of a polling loop is: registering for each takes longer than all the
// rest of a request does here.
type watch struct {
	mu       sync.Mutex
	done     <-chan struct{} // of the context that is watched
	stop     func() bool     // ends its registration
	inFlight net.Conn        // nil between requests
}

// begin has the end of ctx close conn until finish.
func (w *watch) begin(ctx context.Context, conn net.Conn) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.inFlight = conn
	if ctx.Err() != nil {
		_ = conn.Close() // it ended before there was anything in flight
	}
	if ctx.Done() == w.done {
		return
	}
	if w.stop != nil {
		w.stop()
	}
	done := ctx.Done()
	w.done, w.stop = done, context.AfterFunc(ctx, func() { w.ended(done) })
}

// ended closes the connection of a request whose context this is.
func (w *watch) ended(done <-chan struct{}) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.done == done && w.inFlight != nil {
		_ = w.inFlight.Close()
	}
}

// finish lets the connection be; it may have been closed already when the
// context is over.
func (w *watch) finish() {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.inFlight = nil
}

// end gives the last registration up.
func (w *watch) end() {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.stop != nil {
		w.stop()
	}
	w.done, w.stop = nil, nil
}
