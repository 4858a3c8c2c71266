package desk

import (
	"context"
	"maps"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"

	"legwork/cmd/legwork/internal/promql"
	"legwork/cmd/legwork/internal/round"
	"legwork/cmd/legwork/internal/sites"
	"legwork/cmd/legwork/internal/survey"
	"legwork/diagnose"
)

// Options say how a desk reads.
type Options struct {
	Every   time.Duration // 0 is 15 s
	Timeout time.Duration // for one answer
	Shard   Shard
	Peers   []string       // addresses of the desks of all shards, this one's too
	Address string         // that this desk is reached at, HOST:PORT
	History *promql.Server // keeps the metrics of this desk; may be nil
	// Told is told the METER in full of each that is listed in short; may be nil.
	Told func(name, meter string)
}

// Desk keeps reading and judging. Make one with New, hand it a list, and Close it.
type Desk struct {
	options  Options
	ctx      context.Context
	end      context.CancelFunc
	took     prometheus.Histogram
	registry *prometheus.Registry
	started  time.Time
	judges   *judges
	history  *history // nil where there is none

	listed  atomic.Int64 // meters of the whole list
	asked   atomic.Int64 // when a meter was asked last, ns since 1970
	order   atomic.Pointer[[]*meter]
	counted atomic.Pointer[counted]

	mu      sync.Mutex // guards what follows, and Load
	list    *sites.List
	meters  map[string]*meter
	below   map[string][]string // by main
	pollers map[string]*poller  // by wire
}

// poller is one wire that is asked.
type poller struct {
	sites []*sites.Site
	stop  context.CancelFunc
	done  chan struct{}
}

// New makes a desk that reads nothing yet.
func New(o Options) *Desk {
	if o.Every <= 0 {
		o.Every = 15 * time.Second
	}
	ctx, end := context.WithCancel(context.Background())
	all := &judges{diagnose.NewTables(), make(chan struct{}, runtime.GOMAXPROCS(0))}
	d := &Desk{options: o, ctx: ctx, end: end, started: time.Now(), judges: all, meters: map[string]*meter{},
		pollers: map[string]*poller{}, registry: prometheus.NewRegistry()}
	d.took = prometheus.NewHistogram(prometheus.HistogramOpts{Name: "legwork_read_duration_seconds",
		Help:    "Time that a read of a meter took.",
		Buckets: []float64{0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5}})
	d.registry.MustRegister(d.took, collectors.NewGoCollector(),
		collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	d.order.Store(&[]*meter{})
	if o.History != nil {
		d.history = newHistory(o.History, o.Every)
	}
	return d
}

// Load takes a list, the first one or a changed one. Meters that stay keep what
// is known of them; wires that stay are not interrupted. The error is of
// sharding; then all stays as it was.
func (d *Desk) Load(whole *sites.List) error {
	list, err := d.options.Shard.Take(whole)
	if err != nil {
		return err
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	d.listed.Store(int64(len(whole.Sites)))
	meters, below := map[string]*meter{}, map[string][]string{}
	for _, s := range list.Sites {
		m := d.meters[s.Name]
		if m == nil {
			m = newMeter(s, d.judges)
		} else if m.site != s {
			m.adopt(s)
		}
		meters[s.Name] = m
	}
	for _, s := range whole.Sites { // a main may be in another shard than those below it
		if s.Under != "" {
			below[s.Under] = append(below[s.Under], s.Name)
		}
	}
	d.list, d.meters, d.below = list, meters, below
	d.sort()
	d.restart(list.Wires())
	return nil
}

// sort puts the meters in the order of their names.
func (d *Desk) sort() {
	order := make([]*meter, 0, len(d.meters))
	for _, m := range d.meters {
		order = append(order, m)
	}
	slices.SortFunc(order, func(a, b *meter) int { return strings.Compare(a.name, b.name) })
	d.order.Store(&order)
}

// restart ends the wires that are gone or changed, and begins the new ones.
func (d *Desk) restart(wires []sites.Wire) {
	stay, ended := map[string]bool{}, map[string]*poller{}
	for _, w := range wires {
		if p := d.pollers[w.Key]; p != nil && slices.EqualFunc(p.sites, w.Sites, alike) {
			stay[w.Key] = true
		}
	}
	for key, p := range d.pollers {
		if !stay[key] {
			p.stop()
			delete(d.pollers, key)
			ended[key] = p
		}
	}
	for i, w := range wires {
		if !stay[w.Key] {
			d.poll(w, ended[w.Key], d.delay(i, len(wires)))
		}
	}
}

// alike reports two rows that are asked in the same way.
func alike(a, b *sites.Site) bool {
	return a.Name == b.Name && a.Meter == b.Meter && a.Map == b.Map && a.Service == b.Service
}

// delay spreads the wires over the interval. A desk of several begins after two
// intervals: whoever read the wire before has let go of it by then.
func (d *Desk) delay(i, n int) time.Duration {
	spread := d.options.Every * time.Duration(i) / time.Duration(max(n, 1))
	if d.options.Shard.N > 1 {
		return 2*d.options.Every + spread
	}
	return spread
}

// poll begins a wire, once the poller that had it has let go.
func (d *Desk) poll(w sites.Wire, before *poller, delay time.Duration) {
	ctx, stop := context.WithCancel(d.ctx)
	p := &poller{w.Sites, stop, make(chan struct{})}
	d.pollers[w.Key] = p
	meters := make(map[string]*meter, len(w.Sites))
	for _, s := range w.Sites {
		meters[s.Name] = d.meters[s.Name]
	}
	wire := round.Options{Timeout: d.options.Timeout, Maps: d.list.Maps, Told: d.options.Told}
	asks := round.Poller{Options: wire, Every: d.options.Every, Delay: delay,
		Each: func(o round.Outcome) { d.each(meters[o.Site.Name], &o) }}
	go func() {
		defer close(p.done)
		if before != nil {
			<-before.done
		}
		asks.Run(ctx, w.Sites)
	}()
}

// each enters what came of asking one meter.
func (d *Desk) each(m *meter, o *round.Outcome) {
	d.asked.Store(time.Now().UnixNano())
	if o.Err == nil {
		d.took.Observe(o.Took.Seconds())
	}
	if m.note(o, d.options.Every, time.Now()) {
		d.balance(m)
	}
}

// balance holds a main against the meters below it.
func (d *Desk) balance(m *meter) {
	d.mu.Lock()
	name := m.name
	below := d.below[name]
	known := map[string]*survey.Meter{}
	var all []*meter
	for _, n := range append([]string{name}, below...) {
		if len(below) > 0 && d.meters[n] != nil {
			all = append(all, d.meters[n])
		}
	}
	d.mu.Unlock()
	if len(below) == 0 {
		return
	}
	for _, one := range all {
		s := one.brief()
		known[s.Name] = &s
	}
	b := survey.BalanceOf(name, below, known)
	m.mu.Lock()
	defer m.mu.Unlock()
	m.balance = &b
	m.write()
}

// find gives the meter of a name, or nil.
func (d *Desk) find(name string) *meter {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.meters[name]
}

// all gives the meters in the order of their names.
func (d *Desk) all() []*meter { return *d.order.Load() }

// Close ends all reading, and waits for it.
func (d *Desk) Close() {
	d.end()
	d.mu.Lock()
	running := slices.Collect(maps.Values(d.pollers))
	d.mu.Unlock()
	for _, p := range running {
		<-p.done
	}
}
