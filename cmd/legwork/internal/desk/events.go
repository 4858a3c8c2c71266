package desk

import (
	"encoding/json"
	"fmt"
	"net/http"
	"time"

	"legwork/cmd/legwork/internal/survey"
)

// Bounds of streams. Our choice.
const (
	mostStreams = 256
	tick        = time.Second
	writeWithin = 10 * time.Second
)

// event is what a page is told: the rows that changed, or that its meter did.
type event struct {
	At    string         `json:"at"`
	Rows  []row          `json:"rows,omitempty"`
	Count map[string]int `json:"counts,omitempty"`
	Meter bool           `json:"meter,omitempty"`
}

// stream is one page that is kept current.
type stream struct {
	desk *Desk
	one  *meter // of a meter's page; else
	rows []*meter
	seen []uint64
	sent []row
	last survey.Counts
}

// serveEvents sends server-sent events until the page goes or the desk ends.
func (s *server) serveEvents(w http.ResponseWriter, r *http.Request) {
	if s.streams.Add(1) > mostStreams {
		s.streams.Add(-1)
		w.Header().Set("Retry-After", "10")
		http.Error(w, "too many pages are open", http.StatusServiceUnavailable)
		return
	}
	defer s.streams.Add(-1)
	on := s.desk.stream(r)
	w.Header().Set("Content-Type", "text/event-stream")
	control := http.NewResponseController(w)
	beat := time.NewTicker(tick)
	defer beat.Stop()
	for {
		text, err := json.Marshal(on.next())
		if err != nil {
			return
		}
		_ = control.SetWriteDeadline(time.Now().Add(writeWithin))
		if _, err := fmt.Fprintf(w, "event: now\ndata: %s\n\n", text); err != nil || control.Flush() != nil {
			return
		}
		select {
		case <-beat.C:
		case <-r.Context().Done():
			return
		case <-s.desk.ctx.Done():
			return
		}
	}
}

func (d *Desk) stream(r *http.Request) *stream {
	s := &stream{desk: d}
	if name := r.URL.Query().Get("meter"); name != "" {
		s.one = d.find(name)
		return s
	}
	for _, shown := range d.view(r.URL.Query()).Rows {
		if m := d.find(shown.Key); m != nil {
			s.rows, s.seen, s.sent = append(s.rows, m), append(s.seen, 0), append(s.sent, row{})
		}
	}
	return s
}

// next is what changed since the last one.
func (s *stream) next() event {
	e := event{At: time.Now().Format("15:04:05")}
	if s.one != nil {
		now := s.one.seq.Load()
		e.Meter = len(s.seen) > 0 && s.seen[0] != now
		s.seen = []uint64{now}
		return e
	}
	for i, m := range s.rows {
		now := m.seq.Load()
		if now == s.seen[i] {
			continue
		}
		s.seen[i] = now
		v := m.brief()
		if r := rowOf(&v); r != s.sent[i] {
			s.sent[i] = r
			e.Rows = append(e.Rows, r)
		}
	}
	if c := s.desk.counts(); c != s.last {
		s.last = c
		e.Count = map[string]int{"agrees": c.Agrees, "fault": c.Fault, "undecided": c.Undecided, "unreadable": c.Unreadable}
	}
	return e
}

// counted is how many meters have each status, as of some time.
type counted struct {
	at     time.Time
	counts survey.Counts
}

// counts of all meters, as of a tick ago at most: all streams share them.
func (d *Desk) counts() survey.Counts {
	if c := d.counted.Load(); c != nil && time.Since(c.at) < tick {
		return c.counts
	}
	c := &counted{at: time.Now()}
	for _, m := range d.all() {
		c.counts.Add(m.brief().Status)
	}
	d.counted.Store(c)
	return c.counts
}
