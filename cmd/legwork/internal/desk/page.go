package desk

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"time"

	"legwork/cmd/legwork/internal/card"
	"legwork/cmd/legwork/internal/report"
	"legwork/cmd/legwork/internal/screen"
	"legwork/cmd/legwork/internal/survey"
)

//go:embed list.html meter.html desk.js desk.css
var files embed.FS

// pages are the templates of the desk.
func pages() *template.Template {
	return template.Must(card.Template().ParseFS(files, "list.html", "meter.html")) // they are our own texts
}

// row is one meter of the list, as texts.
type row struct {
	Name    string `json:"name"`
	Key     string `json:"-"`
	Address string `json:"-"`
	Site    string `json:"-"`
	Status  string `json:"status"`
	Sign    string `json:"sign"`
	Lost    string `json:"lost"`
	Power   string `json:"power"`
	Summary string `json:"summary"`
}

// longSummary is cut: the meter's own page has all of it.
const longSummary = 110

func rowOf(m *survey.Meter) row {
	o := row{Name: report.Shown(m.Name), Key: m.Name, Address: pageOf(m.Name),
		Site: report.Shown(m.Site), Status: string(m.Status),
		Sign: card.Signs[m.Status], Summary: report.Shown(m.Summary)}
	if runes := []rune(o.Summary); len(runes) > longSummary {
		o.Summary = string(runes[:longSummary]) + "…"
	}
	if x, known := m.Power.Get(); known {
		o.Power = survey.KW(x)
	}
	if x, known := m.Lost.Get(); known && m.Status == survey.Fault {
		o.Lost = fmt.Sprintf("%s lost", survey.KW(x))
	}
	return o
}

// pageOf is the address of a meter's page.
func pageOf(name string) string { return "/meters/" + url.PathEscape(name) }

// listView is the page of all meters.
type listView struct {
	Filter     filter
	Counts     survey.Counts
	All, Found int
	Rows       []row
	Sites      []string
	Query      string
	Before     string // queries of the pages beside this one
	After      string
	From, To   int
	At         string
	Shard      Shard
	Statuses   []survey.Status
}

// view is what the page of all meters shows.
func (d *Desk) view(q url.Values) listView {
	v := listView{Filter: filterOf(q), At: time.Now().Format("15:04:05"), Shard: d.options.Shard,
		Statuses: []survey.Status{survey.Fault, survey.Unreadable, survey.Undecided, survey.Agrees}}
	sites := map[string]bool{}
	var found []survey.Meter
	for _, m := range d.all() {
		s := m.brief()
		v.All++
		v.Counts.Add(s.Status)
		sites[s.Site] = true
		if v.Filter.takes(&s) {
			found = append(found, s)
		}
	}
	v.Filter.sort(found)
	v.Found = len(found)
	delete(sites, "")
	v.Sites = slices.Sorted(maps.Keys(sites))
	pages := max(1, (v.Found+pageSize-1)/pageSize)
	v.Filter.Page = min(v.Filter.Page, pages)
	v.From = (v.Filter.Page - 1) * pageSize
	v.To = min(v.From+pageSize, v.Found)
	for i := v.From; i < v.To; i++ {
		v.Rows = append(v.Rows, rowOf(&found[i]))
	}
	v.From++
	v.Query = v.Filter.query(v.Filter.Page)
	if v.Filter.Page > 1 {
		v.Before = "/?" + v.Filter.query(v.Filter.Page-1)
	}
	if v.Filter.Page < pages {
		v.After = "/?" + v.Filter.query(v.Filter.Page+1)
	}
	return v
}

func (s *server) serveList(w http.ResponseWriter, r *http.Request) {
	s.render(w, "list.html", s.desk.view(r.URL.Query()))
}

// meterView is the page of one meter.
type meterView struct {
	place                   string // of the meter, as its metrics have it
	Name, Site, METER, Note string
	Status                  survey.Status
	Under, UnderAddress     string
	Card                    card.Card
	Lost                    string
	At, Since               string
	Evidence                string
	Reads                   string
	Balance                 *survey.Balance
	Past                    *pastView
}

func (s *server) serveMeter(w http.ResponseWriter, r *http.Request) {
	m := s.desk.find(r.PathValue("name"))
	if m == nil {
		http.Error(w, "no meter here has this name", http.StatusNotFound)
		return
	}
	v := m.view()
	if h := s.desk.history; h != nil {
		past := h.of(s.desk.ctx, m.name, v.place)
		v.Past = &past
	}
	name := "meter.html"
	if r.URL.Query().Get("part") == "live" {
		name = "live"
	}
	s.render(w, name, v)
}

// view is what the page of a meter shows.
func (m *meter) view() meterView {
	o := m.whole()
	m.mu.Lock()
	defer m.mu.Unlock()
	v := meterView{place: m.site.Place, Name: report.Shown(m.name), Site: report.Shown(m.site.Place), Status: o.Status,
		METER: report.Shown(m.site.Meter.Text), Note: report.Shown(m.site.Note), Card: card.Of(&o, "live"), Balance: m.balance}
	if m.site.Under != "" {
		v.Under, v.UnderAddress = report.Shown(m.site.Under), pageOf(m.site.Under)
	}
	if x, known := o.Lost.Get(); known && o.Status != survey.Agrees {
		v.Lost = fmt.Sprintf("%s, between %s and %s", survey.KW(x), survey.KW(o.Low.Or(x)), survey.KW(o.High.Or(x)))
	}
	if !m.last.At.IsZero() {
		v.At = m.last.At.Format("2006-01-02 15:04:05")
	}
	if !m.since.IsZero() {
		v.Since = m.since.Format("2006-01-02 15:04")
	}
	if e := m.evidence.old; e != nil {
		v.Evidence = fmt.Sprintf("%s since %s", screen.Count(e.heard, "reading", "readings"), e.begun.Format("15:04:05"))
		if o.Verdict != nil && o.Verdict.Steps > 0 {
			v.Evidence += ", " + screen.Count(o.Verdict.Steps, "change of load", "changes of load") + " used"
		}
	}
	for i, n := range m.reads {
		if n > 0 {
			v.Reads += fmt.Sprintf("%s %d  ", outcomeNames[i], n)
		}
	}
	return v
}

// render writes a page whole, or none of it.
func (s *server) render(w http.ResponseWriter, name string, v any) {
	var b bytes.Buffer
	if err := s.pages.ExecuteTemplate(&b, name, v); err != nil {
		http.Error(w, "the page can't be made", http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	_, _ = w.Write(b.Bytes()) // whoever asked has gone
}
