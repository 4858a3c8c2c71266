package desk

import (
	"html/template"
	"net"
	"net/http"
	"strings"
	"sync/atomic"
	"time"

	"legwork/cmd/legwork/internal/card"
	"legwork/cmd/legwork/internal/day"
)

// server answers over HTTP.
type server struct {
	desk    *Desk
	pages   *template.Template
	streams atomic.Int32
	local   bool
}

// policy lets a page load its own style and script, and nothing else.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; " +
	"base-uri 'none'; form-action 'self'; frame-ancestors 'none'"

// Handler answers for a desk. local refuses what is asked under a name that
// isn't this machine's own: pages of others can't read along by a name that they
// let point here.
func Handler(d *Desk, local bool) http.Handler {
	s := &server{desk: d, pages: pages(), local: local}
	mux := http.NewServeMux()
	mux.HandleFunc("GET /{$}", s.serveList)
	mux.HandleFunc("GET /meters/{name...}", s.serveMeter)
	mux.HandleFunc("GET /events", s.serveEvents)
	mux.HandleFunc("GET /api/meters", d.serveMeters)
	mux.HandleFunc("GET /metrics", d.serveMetrics)
	mux.HandleFunc("GET /targets", d.serveTargets)
	mux.HandleFunc("GET /healthz", d.serveHealth)
	mux.HandleFunc("GET /desk.css", serveText("text/css; charset=utf-8", card.Style()+day.Style()+text("desk.css")))
	mux.HandleFunc("GET /desk.js", serveText("text/javascript; charset=utf-8", text("desk.js")))
	return s.guard(mux)
}

func text(file string) string {
	src, _ := files.ReadFile(file) // it is embedded
	return string(src)
}

func serveText(kind, text string) http.HandlerFunc {
	return func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", kind)
		_, _ = w.Write([]byte(text)) // whoever asked has gone
	}
}

// guard sets what every answer has, and refuses all but questions.
func (s *server) guard(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cache-Control", "no-store")
		switch {
		case r.Method != http.MethodGet && r.Method != http.MethodHead:
			h.Set("Allow", "GET, HEAD")
			http.Error(w, "nothing can be changed here; ask with GET", http.StatusMethodNotAllowed)
		case s.local && !ownName(r.Host):
			http.Error(w, "use this machine's own address, such as 127.0.0.1", http.StatusForbidden)
		default:
			next.ServeHTTP(w, r)
		}
	})
}

// ownName reports a Host that means this machine.
func ownName(host string) bool {
	if h, _, err := net.SplitHostPort(host); err == nil {
		host = h
	}
	host = strings.Trim(host, "[]")
	ip := net.ParseIP(host)
	return strings.EqualFold(host, "localhost") || ip != nil && ip.IsLoopback()
}

// unwell is after how many intervals without any question to a meter a desk
// calls itself unwell.
const unwell = 12

// serveHealth says whether the desk is at work; meters that don't answer are no
// fault of its.
func (d *Desk) serveHealth(w http.ResponseWriter, _ *http.Request) {
	last := time.Unix(0, d.asked.Load())
	if len(d.all()) > 0 && time.Since(last) > unwell*d.options.Every && time.Since(d.started) > unwell*d.options.Every {
		http.Error(w, "no meter has been asked since "+last.Format(time.TimeOnly), http.StatusServiceUnavailable)
		return
	}
	_, _ = w.Write([]byte("ok\n")) // whoever asked has gone
}
