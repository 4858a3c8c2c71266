package desk

import (
	"encoding/json"
	"fmt"
	"net"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/cmd/legwork/internal/promql"
	"legwork/cmd/legwork/internal/round"
	"legwork/cmd/legwork/internal/sites"
	"legwork/diagnose"
	"legwork/probe/reading"
	"legwork/sim"
)

// tables are made once for all the tests here.
var tables = diagnose.NewTables()

// still is a desk whose meters are fed by the test, at its own times.
func still(t *testing.T, names ...string) *Desk {
	d := New(Options{Every: time.Second})
	t.Cleanup(d.Close)
	l := &sites.List{}
	for i, n := range names {
		l.Sites = append(l.Sites, &sites.Site{Name: n, Place: fmt.Sprint("Site ", i%2), Service: "120/208Y"})
	}
	d.list, d.meters = l, map[string]*meter{}
	d.listed.Store(int64(len(names)))
	for _, s := range l.Sites {
		d.meters[s.Name] = newMeter(s, d.judges)
	}
	d.sort()
	return d
}

// feed enters a reading.
func feed(m *meter, r reading.Reading) {
	m.note(&round.Outcome{Site: m.site, Reading: r}, time.Second, r.At)
}

var line = regexp.MustCompile(`^(\w+)\{(.*)\} (\S+)$`)
var label = regexp.MustCompile(`(\w+)="((?:[^"\\]|\\.)*)"`)

// keep adds a scrape to what a server keeps, as series with samples.
func keep(t *testing.T, kept map[string]map[string]any, text, instance string, at time.Time) {
	for l := range strings.Lines(text) {
		m := line.FindStringSubmatch(strings.TrimSpace(l))
		if m == nil || !strings.HasPrefix(m[1], "legwork_") {
			continue
		}
		key := instance + m[1] + m[2]
		if kept[key] == nil {
			metric := map[string]string{"__name__": m[1], "instance": instance}
			for _, p := range label.FindAllStringSubmatch(m[2], -1) {
				metric[p[1]] = strings.NewReplacer(`\\`, `\`, `\"`, `"`, `\n`, "\n").Replace(p[2])
			}
			kept[key] = map[string]any{"metric": metric, "values": [][]any{}}
		}
		kept[key]["values"] = append(kept[key]["values"].([][]any), []any{float64(at.UnixMilli()) / 1000, m[3]})
	}
}

func scraped(t *testing.T, d *Desk) string {
	w := httptest.NewRecorder()
	Handler(d, false).ServeHTTP(w, httptest.NewRequest(http.MethodGet, "/metrics", nil))
	require.Equal(t, http.StatusOK, w.Code)
	return w.Body.String()
}

// readings of a place whose CT 2 is reversed, one a second, to the millisecond.
func readings(t *testing.T, place string, n int, from time.Time) []reading.Reading {
	p, err := sim.Open(place, sim.Options{Fault: "ct2-reversed", Seed: 5, Start: from})
	require.NoError(t, err)
	var all []reading.Reading
	for i := range n {
		all = append(all, p.At(from.Add(time.Duration(i)*time.Second).Truncate(time.Millisecond)))
	}
	return all
}

// sameVerdict holds two results to be alike, but for rounding.
func sameVerdict(t *testing.T, want, got diagnose.Result) {
	require.Equal(t, want.Verdict, got.Verdict)
	require.Equal(t, want.Steps, got.Steps)
	require.Len(t, got.Explanations, len(want.Explanations))
	for i := range want.Explanations {
		require.Equal(t, want.Explanations[i].Words, got.Explanations[i].Words)
		require.InDelta(t, want.Explanations[i].Probability, got.Explanations[i].Probability, 1e-9)
	}
}

// What is read back gives the same verdict as a capture of the same readings,
// though each was scraped twice and by two desks.
func TestReadBackGivesTheSameVerdict(t *testing.T) {
	if testing.Short() {
		t.Skip("long, and of one goroutine")
	}
	for _, place := range sim.Names() {
		t.Run(place, func(t *testing.T) {
			name := "odd \"name\" \\ / " + place
			d := still(t, name)
			all := readings(t, place, 60, time.Now().Add(-2*time.Minute))
			kept := map[string]map[string]any{}
			for _, r := range all {
				feed(d.meters[name], r)
				text := scraped(t, d)
				keep(t, kept, text, "desk-1", r.At.Add(100*time.Millisecond))
				keep(t, kept, text, "desk-1", r.At.Add(600*time.Millisecond))
				keep(t, kept, text, "desk-2", r.At.Add(300*time.Millisecond))
			}
			s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
				var result []any
				for _, one := range kept {
					result = append(result, one)
				}
				_ = json.NewEncoder(w).Encode(map[string]any{"status": "success", "data": map[string]any{"resultType": "matrix",
					"result": result}})
			}))
			defer s.Close()
			a, err := promql.ParseAddress("promql+" + s.URL + "/" + url.PathEscape(name))
			require.NoError(t, err)
			got, err := a.Readings(t.Context(), s.Client())
			require.NoError(t, err)
			require.Len(t, got, len(all))
			for i := range all {
				require.True(t, all[i].At.Equal(got[i].At))
			}
			sameVerdict(t, diagnose.Diagnose(all, diagnose.Options{Tables: tables}), diagnose.Diagnose(got, diagnose.Options{Tables: tables}))
		})
	}
}

func freePort(t *testing.T) string {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer l.Close()
	return l.Addr().String()
}

const scrapeConfig = `
global: {scrape_interval: 200ms, scrape_timeout: 200ms}
scrape_configs:
  - {job_name: legwork, static_configs: [{targets: [%q]}]}
`

// Real servers scrape the desk, and what they keep gives the same verdict.
func TestThroughServersThatKeepHistory(t *testing.T) {
	for name, flags := range map[string]func(dir, config, at string) []string{
		"prometheus": func(dir, config, at string) []string {
			return []string{"--config.file=" + config, "--storage.tsdb.path=" + dir, "--web.listen-address=" + at,
				"--log.level=error"}
		},
		"victoria-metrics": func(dir, config, at string) []string {
			return []string{"-promscrape.config=" + config, "-storageDataPath=" + dir, "-httpListenAddr=" + at,
				"-search.latencyOffset=0s", "-loggerLevel=ERROR", "-memory.allowedBytes=64MB"}
		},
	} {
		t.Run(name, func(t *testing.T) {
			d := still(t, "kiln 1")
			desk := httptest.NewServer(Handler(d, true))
			defer desk.Close()
			dir := t.TempDir()
			config := filepath.Join(dir, "scrape.yml")
			require.NoError(t, os.WriteFile(config, fmt.Appendf(nil, scrapeConfig, strings.TrimPrefix(desk.URL, "http://")),
				0o600))
			at := freePort(t)
			program(t, name, dir, flags(filepath.Join(dir, "data"), config, at)...)

			a, err := promql.ParseAddress("promql+http://" + at + "/kiln%201?from=-10m")
			require.NoError(t, err)
			from := time.Now().Truncate(time.Millisecond)
			all := readings(t, "kiln-house", 12, from)
			m := d.meters["kiln 1"]
			feed(m, all[0])
			require.Eventually(t, func() bool { // it is up, and scrapes
				got, err := a.Readings(t.Context(), http.DefaultClient)
				return err == nil && len(got) > 0
			}, 20*time.Second, 50*time.Millisecond)
			for n := 1; n < len(all); n++ { // each stays until it was taken
				feed(m, all[n])
				require.Eventually(t, func() bool {
					got, err := a.Readings(t.Context(), http.DefaultClient)
					return err == nil && len(got) > n
				}, 20*time.Second, 50*time.Millisecond)
			}
			got, err := a.Readings(t.Context(), http.DefaultClient)
			require.NoError(t, err)
			require.Len(t, got, len(all))
			sameVerdict(t, diagnose.Diagnose(all, diagnose.Options{Tables: tables}), diagnose.Diagnose(got, diagnose.Options{Tables: tables}))
			drawnFrom(t, d, "promql+http://"+at)
		})
	}
}

// drawnFrom holds a page to what a real server keeps of the last minute.
func drawnFrom(t *testing.T, d *Desk, server string) {
	from, err := promql.ParseServer(server)
	require.NoError(t, err)
	d.history = newHistory(from, time.Second)
	d.history.waits = 20 * time.Second
	page := get(t, Handler(d, true), "/meters/kiln%201").Body.String()
	require.Contains(t, page, `<svg class="day"`)
	require.Contains(t, page, "Means of 5 minutes: channel 1 ")
	require.Contains(t, page, "nothing was recorded")
	require.Contains(t, page, "Verdict: ")
}
