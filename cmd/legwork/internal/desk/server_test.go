package desk

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/cmd/legwork/internal/survey"
)

// fed is a desk of n meters, each with a reading of a kiln house whose CT 2 is
// reversed.
func fed(t *testing.T, n int) *Desk {
	var names []string
	for i := range n {
		names = append(names, fmt.Sprint("suite-", i))
	}
	d := still(t, names...)
	r := readings(t, "kiln-house", 1, begin)[0]
	for _, m := range d.all() {
		feed(m, r)
	}
	return d
}

// Nothing but questions, nothing loaded from elsewhere, no name but this machine's.
func TestGuard(t *testing.T) {
	d := fed(t, 1)
	h := Handler(d, true)
	for _, method := range []string{"POST", "PUT", "DELETE", "PATCH", "OPTIONS", "CONNECT"} {
		w := httptest.NewRecorder()
		r := httptest.NewRequest(method, "/", nil)
		r.Host = "localhost"
		h.ServeHTTP(w, r)
		require.Equal(t, http.StatusMethodNotAllowed, w.Code, method)
	}
	for _, path := range []string{"/", "/meters/suite-0", "/metrics", "/api/meters", "/healthz", "/desk.js", "/desk.css",
		"/targets", "/nowhere"} {
		head := get(t, h, path).Header()
		require.Contains(t, head.Get("Content-Security-Policy"), "default-src 'none'", path)
		require.NotContains(t, head.Get("Content-Security-Policy"), "unsafe", path)
		require.Equal(t, "nosniff", head.Get("X-Content-Type-Options"))
		require.Empty(t, head.Get("Access-Control-Allow-Origin"))
	}
	for host, code := range map[string]int{"localhost:8460": 200, "127.0.0.1": 200, "[::1]:8460": 200, "desk.example": 403,
		"127.0.0.1.example:80": 403, "10.0.0.7": 403} {
		w := httptest.NewRecorder()
		r := httptest.NewRequest(http.MethodGet, "/", nil)
		r.Host = host
		h.ServeHTTP(w, r)
		require.Equal(t, code, w.Code, host)
	}
}

func TestListPage(t *testing.T) {
	d := fed(t, 450)
	h := Handler(d, true)
	first := get(t, h, "/")
	require.Less(t, first.Body.Len(), 100_000, "a page of 200 rows")
	require.Equal(t, 200, strings.Count(first.Body.String(), `data-name="`))
	require.Contains(t, first.Body.String(), "1 to 200 of 450")
	require.Contains(t, first.Body.String(), `href="/?page=2"`)
	last := get(t, h, "/?page=3").Body.String()
	require.Contains(t, last, "401 to 450 of 450")
	require.Contains(t, get(t, h, "/?page=99").Body.String(), "401 to 450 of 450")
	some := get(t, h, "/?q=SUITE-44&status=fault&sort=name&site=Site+0").Body.String()
	require.Equal(t, 6, strings.Count(some, `data-name="`)) // 44, 440, 442 ... 448
	require.Contains(t, some, `value="SUITE-44"`)
	require.Contains(t, some, "<option selected>fault</option>")
	require.Contains(t, some, `data-events="/events?q=SUITE-44&amp;site=Site&#43;0&amp;sort=name&amp;status=fault"`)
	require.Contains(t, get(t, h, "/?status=agrees").Body.String(), "No meter matches")
	hostile := get(t, h, "/?q=%22%3E%3Cscript%3E&site=%3Cimg%3E").Body.String()
	require.NotContains(t, hostile, "<img>")
	require.NotContains(t, hostile, `"><script>`)
}

// The page of a meter says the same as the metrics, and what it says of the
// wiring is of one verdict.
func TestMeterPage(t *testing.T) {
	d := fed(t, 2)
	h := Handler(d, true)
	page := get(t, h, "/meters/suite-1").Body.String()
	for _, want := range []string{"CT 2 is reversed", `<svg class="phasors"`, "Turn CT 2 round", "1 reading since",
		"Lost power:"} {
		require.Contains(t, page, want)
	}
	require.NotContains(t, get(t, h, "/meters/suite-1?part=live").Body.String(), "<html")
	require.Equal(t, http.StatusNotFound, get(t, h, "/meters/suite-9").Code)
	require.NotContains(t, page, "style=")
}

func TestAPI(t *testing.T) {
	d := fed(t, 3)
	var r survey.Result
	require.NoError(t, json.Unmarshal(get(t, Handler(d, true), "/api/meters").Body.Bytes(), &r))
	require.Equal(t, 3, r.Counts.Fault)
	require.Len(t, r.Meters, 3)
	require.Equal(t, "CT 2 is reversed", r.Meters[0].Verdict.Explanations[0].Words)
	require.NoError(t, json.Unmarshal(get(t, Handler(d, true), "/api/meters?q=suite-2").Body.Bytes(), &r))
	require.Len(t, r.Meters, 1)
}

// A page is told what changed, and nothing else; the stream ends with the desk.
func TestEvents(t *testing.T) {
	d := fed(t, 3)
	s := httptest.NewServer(Handler(d, true))
	defer s.Close()
	r, err := http.Get(s.URL + "/events?q=suite")
	require.NoError(t, err)
	defer r.Body.Close()
	require.Equal(t, "text/event-stream", r.Header.Get("Content-Type"))
	lines := bufio.NewScanner(r.Body)
	next := func() (e event) {
		for lines.Scan() {
			if data, ok := strings.CutPrefix(lines.Text(), "data: "); ok {
				require.NoError(t, json.Unmarshal([]byte(data), &e))
				return e
			}
		}
		t.Fatal("the stream ended")
		return e
	}
	require.Len(t, next().Rows, 3)
	require.Empty(t, next().Rows)
	changed := readings(t, "kiln-house", 9, begin)[8]
	feed(d.meters["suite-1"], changed)
	e := next()
	require.Len(t, e.Rows, 1)
	require.Equal(t, "suite-1", e.Rows[0].Name)
	require.Empty(t, e.Count)
	d.Close()
	for lines.Scan() { // to the end
	}
	require.NoError(t, lines.Err())
}

func TestTooManyStreams(t *testing.T) {
	d := fed(t, 1)
	s := &server{desk: d, pages: pages()}
	s.streams.Store(mostStreams)
	w := httptest.NewRecorder()
	s.serveEvents(w, httptest.NewRequest(http.MethodGet, "/events", nil))
	require.Equal(t, http.StatusServiceUnavailable, w.Code)
	require.EqualValues(t, mostStreams, s.streams.Load())
}

func TestTargets(t *testing.T) {
	d := fed(t, 1)
	d.options.Address = "127.0.0.1:8460"
	require.JSONEq(t, `[{"targets":["127.0.0.1:8460"],"labels":{"__scheme__":"http","__metrics_path__":"/metrics"}}]`,
		get(t, Handler(d, true), "/targets").Body.String())
	d.options.Peers = []string{"http://a:1", "https://b:2"}
	d.listed.Store(6000)
	var all []target
	require.NoError(t, json.Unmarshal(get(t, Handler(d, true), "/targets").Body.Bytes(), &all))
	require.Len(t, all, 4)
	require.Equal(t, "https", all[3].Labels["__scheme__"])
	require.Equal(t, "2/2", all[3].Labels["__param_part"])
}

func TestListen(t *testing.T) {
	dir := t.TempDir()
	file := func(name, text string) string {
		f := filepath.Join(dir, name)
		require.NoError(t, os.WriteFile(f, []byte(text), 0o600))
		return f
	}
	const user = "basic_auth_users:\n  desk: $2y$05$k1ZHIxLTzgpGtq6ZDQHH.eOtj8LpV0fJB7bYq8jS5dLQ0qb6lJmhS\n"
	for _, c := range []struct{ address, config, want string }{
		{"0.0.0.0:0", "", "can be reached from other machines"},
		{":0", "", "can be reached from other machines"},
		{"desk.example:0", "", "can be reached from other machines"},
		{"127.0.0.1", "", "is not HOST:PORT"},
		{"127.0.0.1:0", file("empty.yml", "{}"), "lets everyone in"},
		{"127.0.0.1:0", file("bad.yml", "users: {}"), "bad.yml"},
		{"127.0.0.1:0", filepath.Join(dir, "none.yml"), "no such file"},
		{"127.0.0.1:0", "", ""},
		{"127.0.0.1:0", file("users.yml", user), ""},
	} {
		l, err := Listen(c.address, c.config)
		if c.want != "" {
			require.ErrorContains(t, err, c.want)
			continue
		}
		require.NoError(t, err)
		require.NoError(t, l.Close())
	}
}

// Strangers who try passwords are shut out by their own address, and the owner
// gets in from his.
func TestTries(t *testing.T) {
	at := begin
	k := newTries()
	k.now = func() time.Time { return at }
	for range mostTries {
		require.False(t, k.count("10.0.0.1:5", 1))
	}
	require.True(t, k.count("10.0.0.1:6", 1))
	require.False(t, k.count("10.0.0.2:6", 1))
	for range 100 { // questions that get past the door are no tries
		require.False(t, k.count("10.0.0.2:6", 1))
		require.False(t, k.count("10.0.0.2:6", -1))
	}
	at = at.Add(2 * triesWithin)
	require.False(t, k.count("10.0.0.1:7", 1))
}

// With passwords: no answer without one, an answer with it, a clean end.
func TestServeWithPasswords(t *testing.T) {
	file := filepath.Join(t.TempDir(), "web.yml")
	require.NoError(t, os.WriteFile(file, []byte("basic_auth_users:\n  desk: "+bcryptOf(t, "kiln")+"\n"), 0o600))
	l, err := Listen("127.0.0.1:0", file)
	require.NoError(t, err)
	ctx, stop := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	d := fed(t, 1)
	go func() { ended <- Serve(ctx, l, d, file) }()
	ask := func(password string) int {
		r, err := http.NewRequest(http.MethodGet, "http://"+l.Addr().String()+"/healthz", nil)
		require.NoError(t, err)
		if password != "" {
			r.SetBasicAuth("desk", password)
		}
		a, err := http.DefaultClient.Do(r)
		if err != nil {
			return 0
		}
		defer a.Body.Close()
		return a.StatusCode
	}
	require.Equal(t, http.StatusUnauthorized, ask(""))
	require.Equal(t, http.StatusOK, ask("kiln"))
	refused := 0
	for range mostTries + 5 {
		if code := ask("wrong"); code == 0 {
			refused++
		} else {
			require.Equal(t, http.StatusUnauthorized, code)
		}
	}
	require.Positive(t, refused, "this address is shut out for a while")
	stop()
	require.NoError(t, <-ended)
	_, err = net.Dial("tcp", l.Addr().String())
	require.Error(t, err)
}
