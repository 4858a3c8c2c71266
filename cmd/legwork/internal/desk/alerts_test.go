package desk

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/cmd/legwork/internal/fleet"
	"legwork/cmd/legwork/internal/sites"
)

// program starts a real server in a folder until the test ends; a test that
// lacks it is skipped.
func program(t *testing.T, name, dir string, args ...string) {
	path, err := exec.LookPath(name)
	if err != nil {
		t.Skipf("%s is not installed", name)
	}
	p := exec.Command(path, args...)
	p.Dir = dir
	require.NoError(t, p.Start())
	t.Cleanup(func() { _ = p.Process.Kill(); _ = p.Wait() })
}

// yard serves simulated meters, and gives their list.
func yard(t *testing.T, o fleet.Options) (*fleet.Fleet, *sites.List) {
	f, err := fleet.Serve(o)
	require.NoError(t, err)
	t.Cleanup(func() { _ = f.Close() })
	dir := t.TempDir()
	for name, src := range f.Maps {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), src, 0o600))
	}
	file := filepath.Join(dir, "s.csv")
	require.NoError(t, os.WriteFile(file, f.Sites(), 0o600))
	l, err := sites.Load(file)
	require.NoError(t, err)
	return f, l
}

// waits are the times that rules wait for; a test has less of it.
var waits = regexp.MustCompile(`(?m)^( *for:) \w+$`)

const alertsConfig = `
global: {scrape_interval: 300ms, scrape_timeout: 300ms, evaluation_interval: 300ms}
rule_files: [rules.yaml]
alerting: {alertmanagers: [{static_configs: [{targets: [%q]}]}]}
scrape_configs:
  - {job_name: legwork, http_sd_configs: [{url: %q, refresh_interval: 1s}]}
`

// A real Prometheus scrapes a desk with the desk's own rules, and what is wrong
// with simulated meters comes to a real Alertmanager: that, and nothing else.
func TestAlertsArrive(t *testing.T) {
	if testing.Short() {
		t.Skip("it waits for other programs, which race with nothing here")
	}
	dir, manager := t.TempDir(), freePort(t)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "manager.yaml"),
		[]byte("route: {receiver: nobody}\nreceivers: [{name: nobody}]\n"), 0o600))
	program(t, "prometheus-alertmanager", dir, "--config.file=manager.yaml", "--storage.path=alerts",
		"--web.listen-address="+manager, "--cluster.listen-address=", "--log.level=error")
	f, list := yard(t, fleet.Options{Meters: 12, Wires: 2, Seed: 4})
	d := New(Options{Every: 200 * time.Millisecond, Timeout: 200 * time.Millisecond})
	t.Cleanup(d.Close)
	require.NoError(t, d.Load(list))
	desk := httptest.NewServer(Handler(d, true))
	t.Cleanup(desk.Close)
	d.options.Address = desk.Listener.Addr().String()
	rules := waits.ReplaceAllString(Rules(), "$1 2s")
	require.Equal(t, strings.Count(Rules(), " for:"), strings.Count(rules, " for: 2s"))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "rules.yaml"), []byte(rules), 0o600))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "prometheus.yaml"), fmt.Appendf(nil, alertsConfig, manager,
		desk.URL+"/targets"), 0o600))
	program(t, "prometheus", dir, "--config.file=prometheus.yaml", "--storage.tsdb.path=data",
		"--web.listen-address="+freePort(t), "--log.level=error")

	_, err := f.Order("suite-1 fault ct1-reversed")
	require.NoError(t, err)
	require.NoError(t, f.Servers[1].Close())
	lost := f.Meters[len(f.Meters)-1].Name
	require.Eventually(t, func() bool {
		all := alerts(manager)
		return all["LegworkFault suite-1"] && all["LegworkMeterSilent "+lost]
	}, time.Minute, 100*time.Millisecond)
	for alert := range alerts(manager) {
		name, meter, _ := strings.Cut(alert, " ")
		switch m := f.Find(meter); name {
		case "LegworkFault":
			require.True(t, meter == "suite-1" || m.Fault != "", alert)
		case "LegworkMeterSilent":
			require.True(t, m.Silent || m.Building == "Building 2", alert)
		}
	}
}

// alerts are those that an Alertmanager has, by name and meter (API v2).
func alerts(manager string) map[string]bool {
	all := map[string]bool{}
	r, err := http.Get("http://" + manager + "/api/v2/alerts")
	if err != nil {
		return all
	}
	defer r.Body.Close()
	var list []struct {
		Labels map[string]string `json:"labels"`
	}
	_ = json.NewDecoder(r.Body).Decode(&list) // asked again
	for _, a := range list {
		all[a.Labels["alertname"]+" "+a.Labels["meter"]] = true
	}
	return all
}
