package desk

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
)

// mostInPart is how many meters one scrape should have: 25 series each of them
// stay below the 16 MiB that some servers take.
const mostInPart = 2500

// target is a group of Prometheus' HTTP service discovery.
type target struct {
	Targets []string          `json:"targets"`
	Labels  map[string]string `json:"labels"`
}

// serveTargets says what is to be scraped: every desk of the list, in as many
// parts as its share of the meters needs.
func (d *Desk) serveTargets(w http.ResponseWriter, _ *http.Request) {
	desks := []target{{Targets: []string{d.options.Address}, Labels: map[string]string{"__scheme__": "http"}}}
	if len(d.options.Peers) > 0 {
		desks = nil
		for _, p := range d.options.Peers {
			u, err := url.Parse(p)
			if err != nil {
				continue
			}
			desks = append(desks, target{[]string{u.Host}, map[string]string{"__scheme__": u.Scheme}})
		}
	}
	share := int(d.listed.Load()) / max(1, len(desks))
	parts := (share + share/4 + mostInPart - 1) / mostInPart // shares aren't even
	out := []target{}
	for _, t := range desks {
		for k := range max(1, parts) {
			labels := map[string]string{"__metrics_path__": "/metrics"}
			for name, value := range t.Labels {
				labels[name] = value
			}
			if parts > 1 {
				labels["__param_part"] = fmt.Sprintf("%d/%d", k+1, parts)
			}
			out = append(out, target{t.Targets, labels})
		}
	}
	w.Header().Set("Content-Type", "application/json")
	_ = json.NewEncoder(w).Encode(out) // whoever asked has gone
}
