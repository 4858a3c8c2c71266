package desk

import (
	"bytes"
	"flag"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/cmd/legwork/internal/round"
	"legwork/probe/link"
	"legwork/probe/reading"
)

var update = flag.Bool("update", false, "write golden files anew")

func golden(t *testing.T, name, got string) {
	file := filepath.Join("testdata", name)
	if *update {
		require.NoError(t, os.WriteFile(file, []byte(got), 0o600))
	}
	want, err := os.ReadFile(file)
	require.NoError(t, err)
	require.Equal(t, string(want), got)
}

func get(t *testing.T, h http.Handler, target string, header ...string) *httptest.ResponseRecorder {
	w := httptest.NewRecorder()
	r := httptest.NewRequest(http.MethodGet, target, nil)
	r.Host = "127.0.0.1:8460"
	for i := 0; i < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
	}
	h.ServeHTTP(w, r)
	return w
}

// ofMeters keeps the lines about meters.
func ofMeters(text string) string {
	var b strings.Builder
	for l := range strings.Lines(text) {
		if strings.Contains(l, `{meter="`) {
			b.WriteString(l)
		}
	}
	return b.String()
}

// All that a meter exports, and what is left of it when it goes silent.
func TestMetricsOfAMeter(t *testing.T) {
	d := still(t, "kiln \"1\"", "never asked")
	m := d.meters["kiln \"1\""]
	for _, r := range readings(t, "kiln-house", 3, begin) {
		r.Channels[1].Reactive = reading.Value{}
		feed(m, r)
	}
	golden(t, "up.metrics", ofMeters(scraped(t, d)))
	m.note(&round.Outcome{Site: m.site, Err: &link.Error{Err: link.NoAnswer{After: time.Second}}}, time.Second,
		begin.Add(time.Minute))
	text := ofMeters(scraped(t, d))
	golden(t, "down.metrics", text)
	require.NotContains(t, text, "NaN")
}

func TestOpenMetrics(t *testing.T) {
	d := still(t, "a")
	feed(d.meters["a"], readings(t, "kiln-house", 1, begin)[0])
	w := get(t, Handler(d, true), "/metrics", "Accept", "application/openmetrics-text;version=1.0.0,*/*;q=0.1")
	require.Contains(t, w.Header().Get("Content-Type"), "application/openmetrics-text")
	body := w.Body.String()
	require.True(t, strings.HasSuffix(body, "# EOF\n"))
	require.Contains(t, body, "# TYPE legwork_reads counter\n")
	require.Contains(t, body, "\nlegwork_reads_total{")
	require.Contains(t, body, "# TYPE legwork_read_duration_seconds histogram")
	require.Contains(t, body, "legwork_sites_meters 1")
	for f := range families { // each family is one group
		require.LessOrEqual(t, strings.Count(body, "# HELP "+strings.TrimSuffix(families[f].name, "_total")+" "), 1)
	}
}

func TestPromtool(t *testing.T) {
	promtool, err := exec.LookPath("promtool")
	if err != nil {
		t.Skip("promtool is not installed")
	}
	d := still(t, "a", "b")
	for _, r := range readings(t, "kiln-house", 2, begin) {
		feed(d.meters["a"], r)
	}
	check := exec.Command(promtool, "check", "metrics")
	check.Stdin = strings.NewReader(scraped(t, d))
	out, err := check.CombinedOutput()
	require.NoError(t, err, string(out))
	require.Empty(t, string(out))

	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "rules.yaml"), []byte(Rules()), 0o600))
	tests, err := os.ReadFile("testdata/rules.test.yaml")
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "rules.test.yaml"), tests, 0o600))
	for _, args := range [][]string{{"check", "rules", "rules.yaml"}, {"test", "rules", "rules.test.yaml"}} {
		run := exec.Command(promtool, args...)
		run.Dir = dir
		out, err := run.CombinedOutput()
		require.NoError(t, err, string(out))
	}
}

// Every metric that a rule speaks of is exported.
func TestRulesSpeakOfWhatThereIs(t *testing.T) {
	d := still(t, "a")
	known := scraped(t, d) + fmt.Sprint(families)
	for _, name := range regexp.MustCompile(`legwork_[a-z_]+`).FindAllString(Rules(), -1) {
		if name != "legwork_verdict" {
			require.Contains(t, known, name)
		}
	}
}

// Series of one meter in one scrape are of one reading, however fast it is read.
func TestNoScrapeIsTorn(t *testing.T) {
	d := still(t, "a", "b", "c")
	var feeding sync.WaitGroup
	end := make(chan bool)
	for _, m := range d.all() {
		feeding.Go(func() {
			for n := 1; ; n++ {
				select {
				case <-end:
					return
				default:
				}
				x := float64(n)
				r := reading.Reading{At: begin.Add(time.Duration(n) * time.Millisecond)}
				for range 3 {
					r.Channels = append(r.Channels, reading.Channel{Voltage: reading.Known(x), Current: reading.Known(x),
						Power: reading.Known(x)})
				}
				feed(m, r)
			}
		})
	}
	for range 200 {
		of := map[string]map[string]bool{}
		for l := range strings.Lines(scraped(t, d)) {
			f := strings.Fields(l)
			if len(f) != 2 || !strings.Contains(l, "channel=") || strings.Contains(l, "silent") {
				continue
			}
			name := l[strings.Index(l, `meter="`) : strings.Index(l, `meter="`)+9]
			if of[name] == nil {
				of[name] = map[string]bool{}
			}
			of[name][f[1]] = true
		}
		for name, values := range of {
			require.Len(t, values, 1, name)
		}
	}
	close(end)
	feeding.Wait()
}

// Parts make up the whole, once each; a site has its meters only.
func TestParts(t *testing.T) {
	var names []string
	for i := range 100 {
		names = append(names, fmt.Sprint("m", i))
	}
	d := still(t, names...)
	h := Handler(d, true)
	seen := map[string]int{}
	meter := regexp.MustCompile(`legwork_meter_info\{meter="(m\d+)"`)
	for k := 1; k <= 3; k++ {
		body := get(t, h, fmt.Sprintf("/metrics?part=%d/3", k)).Body.String()
		for _, m := range meter.FindAllStringSubmatch(body, -1) {
			seen[m[1]]++
		}
		require.Equal(t, k == 1, strings.Contains(body, "legwork_sites_meters"))
	}
	require.Len(t, seen, 100)
	for n, times := range seen {
		require.Equal(t, 1, times, n)
	}
	body := get(t, h, "/metrics?site=Site+1").Body.String()
	require.Len(t, meter.FindAllString(body, -1), 50)
	for _, bad := range []string{"4/3", "0/2", "x", "1/9999999"} {
		require.Equal(t, http.StatusBadRequest, get(t, h, "/metrics?part="+bad).Code)
	}
}

func TestLostEnergyIsCounted(t *testing.T) {
	d := still(t, "a")
	m := d.meters["a"]
	for _, r := range readings(t, "kiln-house", 61, begin) {
		feed(m, r)
	}
	watts := m.verdict.loss
	require.Greater(t, watts.Low.Or(0), 1000.0)
	require.InEpsilon(t, 60*watts.Low.Or(0), m.lost.low, 0.5)
	require.LessOrEqual(t, m.lost.low, m.lost.high)
	before := m.lost
	feed(m, readings(t, "kiln-house", 1, begin.Add(time.Hour))[0])
	require.Equal(t, before, m.lost, "what was not read is not counted")
}

func BenchmarkScrapeOfTenThousand(b *testing.B) {
	d := tenThousand(b)
	var size int
	for b.Loop() {
		w := httptest.NewRecorder()
		w.Body = bytes.NewBuffer(make([]byte, 0, 32<<20))
		Handler(d, false).ServeHTTP(w, httptest.NewRequest(http.MethodGet, "/metrics", nil))
		size = w.Body.Len()
	}
	b.ReportMetric(float64(size)/1e6, "MB")
}

// tenThousand is a desk of ten thousand meters that were read once.
func tenThousand(b *testing.B) *Desk {
	t := &testing.T{}
	var names []string
	for i := range 10_000 {
		names = append(names, "suite-"+strconv.Itoa(i))
	}
	d := still(t, names...)
	r := readings(t, "kiln-house", 1, begin)[0]
	for i, m := range d.all() {
		m.last, m.up, m.asked = r, true, true
		m.verdict = verdict{status: "agrees",
			summary: "The wiring agrees with the readings: every CT sits where it belongs (over 99.9 %).", probability: 0.99}
		if i%5 == 0 {
			m.verdict.status, m.verdict.loss.Best = "fault", reading.Known(float64(i))
		}
		m.write()
	}
	return d
}

func BenchmarkListOfTenThousand(b *testing.B) {
	h := Handler(tenThousand(b), false)
	var size int
	for b.Loop() {
		w := httptest.NewRecorder()
		h.ServeHTTP(w, httptest.NewRequest(http.MethodGet, "/", nil))
		size = w.Body.Len()
	}
	b.ReportMetric(float64(size), "B/page")
}
