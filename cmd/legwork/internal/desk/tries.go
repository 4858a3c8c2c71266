package desk

import (
	"net"
	"net/http"
	"sync"
	"time"
)

// Bounds of tries that are refused for want of a password. Our choice.
const (
	mostTries   = 20
	triesWithin = time.Minute
)

// tries counts, by address, questions that got past the door and those that
// didn't. The library that checks passwords has one limit for everybody, with
// which a stranger locks the owner out; here each address has its own.
type tries struct {
	mu    sync.Mutex
	begun time.Time
	bad   map[string]int
	now   func() time.Time
}

func newTries() *tries { return &tries{bad: map[string]int{}, now: time.Now} }

func hostOf(address string) string {
	host, _, err := net.SplitHostPort(address)
	if err != nil {
		return address
	}
	return host
}

// count adds to an address's tries, and reports whether it has too many.
func (t *tries) count(address string, by int) bool {
	t.mu.Lock()
	defer t.mu.Unlock()
	if now := t.now(); now.Sub(t.begun) > triesWithin {
		t.begun = now
		clear(t.bad)
	}
	host := hostOf(address)
	t.bad[host] = max(0, t.bad[host]+by)
	return t.bad[host] > mostTries
}

// state counts a question as it begins (http.Server.ConnState).
func (t *tries) state(c net.Conn, s http.ConnState) {
	if s == http.StateActive && t.count(c.RemoteAddr().String(), 1) {
		_ = c.Close()
	}
}

// past takes back the count of a question that was let in.
func (t *tries) past(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		t.count(r.RemoteAddr, -1)
		next.ServeHTTP(w, r)
	})
}
