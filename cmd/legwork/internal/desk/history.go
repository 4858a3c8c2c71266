package desk

import (
	"context"
	"errors"
	"html/template"
	"net/http"
	"sync"
	"time"

	"legwork/cmd/legwork/internal/day"
	"legwork/cmd/legwork/internal/promql"
	"legwork/cmd/legwork/internal/report"
)

// Bounds of what is asked of the history server. Our choice: a page waits for it
// no longer than a person notices, and it is asked once a minute a meter.
const (
	pageWaits     = 200 * time.Millisecond
	historyWithin = 5 * time.Second
	freshFor      = time.Minute
	shownFor      = 15 * time.Minute // while a newer one is fetched
	mostAsked     = 4                // at once
	mostKept      = 500              // meters, about 10 KB each
)

// pastView is a meter's last day as its page shows it: a drawing with sentences,
// or why there is none.
type pastView struct {
	Drawing template.HTML
	Words   []string
	Why     string
}

// past is what is known of one meter's last day. Its fields are written before
// done is closed, and then no more.
type past struct {
	view pastView
	at   time.Time
	done chan struct{}
}

// ready reports that the answer is there.
func (p *past) ready() bool {
	select {
	case <-p.done:
		return true
	default:
		return false
	}
}

// history fetches the last day of meters from a server, and keeps it for a
// while. However that server behaves, whoever asks here waits once, and shortly.
type history struct {
	server *promql.Server
	client *http.Client
	every  time.Duration
	waits  time.Duration
	now    func() time.Time
	asking chan struct{} // a place for each question

	mu    sync.Mutex
	kept  map[string]*past // by meter and site: the last that was answered
	going map[string]*past // being fetched
}

func newHistory(server *promql.Server, every time.Duration) *history {
	once := http.DefaultTransport.(*http.Transport).Clone()
	once.MaxResponseHeaderBytes = 64 << 10
	client := &http.Client{Transport: once, CheckRedirect: func(*http.Request, []*http.Request) error {
		return errors.New("the server sends elsewhere")
	}}
	return &history{server: server, client: client, every: every, waits: pageWaits, now: time.Now,
		asking: make(chan struct{}, mostAsked), kept: map[string]*past{}, going: map[string]*past{}}
}

// of gives what there is of a meter's last day. The first who asks waits a
// little; others get what is there.
func (h *history) of(ctx context.Context, meter, site string) pastView {
	old, fetched, first := h.look(ctx, meter, site)
	if old != nil {
		return old.view
	}
	if first {
		wait := time.NewTimer(h.waits)
		defer wait.Stop()
		select {
		case <-fetched.done:
		case <-wait.C:
		}
	}
	if fetched != nil && fetched.ready() {
		return fetched.view
	}
	return pastView{Why: "The history server has not answered yet. Load this page again in a moment."}
}

// look gives what is kept, and begins to fetch what isn't, or is no longer fresh.
func (h *history) look(ctx context.Context, meter, site string) (old, fetched *past, first bool) {
	key := meter + "\x00" + site
	h.mu.Lock()
	defer h.mu.Unlock()
	old = h.kept[key]
	if old != nil && h.now().Sub(old.at) >= shownFor {
		old = nil
	}
	if fetched = h.going[key]; fetched != nil || old != nil && h.now().Sub(old.at) < freshFor {
		return old, fetched, false
	}
	select {
	case h.asking <- struct{}{}:
	default: // whoever asks for so many pages at once asks again
		return old, nil, false
	}
	fetched = &past{done: make(chan struct{})}
	h.going[key] = fetched
	go h.fetch(ctx, key, meter, site, fetched)
	return old, fetched, old == nil
}

// fetch asks the server, and keeps what came of it. ctx is the desk's.
func (h *history) fetch(ctx context.Context, key, meter, site string, p *past) {
	ctx, stop := context.WithTimeout(ctx, historyWithin)
	defer stop()
	p.view = h.ask(ctx, meter, site)
	p.at = h.now()
	h.mu.Lock()
	delete(h.going, key)
	h.forget()
	h.kept[key] = p
	h.mu.Unlock()
	<-h.asking
	close(p.done)
}

// forget makes room. The caller holds the lock.
func (h *history) forget() {
	if len(h.kept) < mostKept {
		return
	}
	oldest, at := "", h.now()
	for key, p := range h.kept {
		if !p.at.After(at) {
			oldest, at = key, p.at
		}
	}
	delete(h.kept, oldest)
}

func (h *history) ask(ctx context.Context, meter, site string) pastView {
	from := day.Begin(h.now())
	all, err := h.server.Range(ctx, h.client, meter, from, from.Add(day.Steps*day.Step), day.Step)
	if errors.Is(err, context.DeadlineExceeded) {
		err = errors.New("it does not answer in time")
	}
	if err == nil {
		var d *day.Day
		if d, err = day.Of(all, site, from, h.every); err == nil {
			return pastView{Drawing: d.SVG("day"), Words: d.Words()}
		}
	}
	return pastView{Why: "The last day is not shown. The history server: " + report.Shown(err.Error()) + "."}
}
