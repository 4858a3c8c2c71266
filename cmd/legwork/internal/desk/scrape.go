package desk

import (
	"bufio"
	"fmt"
	"hash/fnv"
	"io"
	"net/http"
	"strconv"
	"strings"

	"github.com/prometheus/client_golang/prometheus"
	dto "github.com/prometheus/client_model/go"
	"github.com/prometheus/common/expfmt"
)

// scrape is what is asked of /metrics.
type scrape struct {
	part  Shard  // of the meters, by name
	site  string // meters of one site only
	bySit bool
}

// parseScrape reads ?part=K/N and ?site=NAME.
func parseScrape(r *http.Request) (s scrape, err error) {
	q := r.URL.Query()
	if s.part, err = ParseShard(q.Get("part")); err != nil {
		return s, fmt.Errorf("part: %w", err)
	}
	s.site, s.bySit = q.Get("site"), q.Has("site")
	return s, nil
}

func (s *scrape) takes(m *meter, b *block) bool {
	if s.bySit && b.site != s.site {
		return false
	}
	if s.part.N < 2 {
		return true
	}
	h := fnv.New32a()
	_, _ = h.Write([]byte(m.name))
	return int(h.Sum32()%uint32(s.part.N))+1 == s.part.K
}

// serveMetrics answers in OpenMetrics where that is asked for, else in the text
// format. Samples carry no time of their own: with it, series never go stale.
func (d *Desk) serveMetrics(w http.ResponseWriter, r *http.Request) {
	s, err := parseScrape(r)
	if err != nil {
		http.Error(w, err.Error(), http.StatusBadRequest)
		return
	}
	format := expfmt.NewFormat(expfmt.TypeTextPlain)
	open := strings.Contains(r.Header.Get("Accept"), "application/openmetrics-text")
	if open {
		format = expfmt.FmtOpenMetrics_1_0_0
	}
	w.Header().Set("Content-Type", string(format))
	out := bufio.NewWriterSize(w, 64<<10)
	d.writeMeters(out, &s, open)
	if !s.bySit && s.part.K <= 1 { // the desk's own metrics are with the first part, and not with a site's
		d.writeOwn(out, format)
	}
	if open {
		_, _ = out.WriteString("# EOF\n") // errors come again at Flush
	}
	_ = out.Flush() // whoever asked has gone
}

// writeMeters writes family after family, each meter's lines of one and the same
// reading.
func (d *Desk) writeMeters(out *bufio.Writer, s *scrape, open bool) {
	var blocks []*block
	for _, m := range d.all() {
		if b := m.block.Load(); s.takes(m, b) {
			blocks = append(blocks, b)
		}
	}
	for i, f := range families {
		first := true
		for _, b := range blocks {
			lines := b.of(i)
			if len(lines) > 0 && first {
				first = false
				head(out, f, open)
			}
			_, _ = out.Write(lines)
		}
	}
}

// head writes what a family is. OpenMetrics names a counter without its suffix.
func head(out *bufio.Writer, f family, open bool) {
	name, kind := f.name, "gauge"
	if total, is := strings.CutSuffix(name, "_total"); is {
		kind = "counter"
		if open {
			name = total
		}
	}
	_, _ = fmt.Fprintf(out, "# HELP %s %s\n# TYPE %s %s\n", name, f.help, name, kind)
}

// writeOwn writes the metrics of the desk itself, through the library: they are
// few, and their histograms and process figures are worth it. Those of meters
// aren't: a collector makes a million values anew at each scrape.
func (d *Desk) writeOwn(out io.Writer, format expfmt.Format) {
	all, err := prometheus.Gatherers{d.registry, d.facts()}.Gather()
	if err != nil {
		return
	}
	encode := expfmt.NewEncoder(out, format)
	for _, f := range all {
		_ = encode.Encode(f)
	}
}

// facts are the desk's own gauges.
func (d *Desk) facts() prometheus.Gatherer {
	return prometheus.GathererFunc(func() ([]*dto.MetricFamily, error) {
		r := prometheus.NewRegistry()
		meters := prometheus.NewGauge(prometheus.GaugeOpts{Name: "legwork_sites_meters",
			Help: "Meters of the whole sites file, those of other shards too."})
		meters.Set(float64(d.listed.Load()))
		s := d.options.Shard
		shard := prometheus.NewGauge(prometheus.GaugeOpts{Name: "legwork_shard_info",
			Help:        "Which part of the sites this desk reads.",
			ConstLabels: prometheus.Labels{"shard": strconv.Itoa(max(s.K, 1)), "shards": strconv.Itoa(max(s.N, 1))}})
		shard.Set(1)
		r.MustRegister(meters, shard)
		return r.Gather()
	})
}
