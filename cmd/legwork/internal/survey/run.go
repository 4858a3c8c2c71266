package survey

import (
	"cmp"
	"context"
	"errors"
	"io"
	"slices"
	"sync"
	"time"

	"legwork/cmd/legwork/internal/round"
	"legwork/cmd/legwork/internal/sites"
	"legwork/diagnose"
)

// DefaultAtOnce is how many wires are asked at once.
const DefaultAtOnce = 64

// Options say how the meters are read. The zero value takes one reading of each.
type Options struct {
	Samples  int           // readings a meter; 0 is 1
	Interval time.Duration // from one round of a wire to the next
	AtOnce   int           // wires; 0 is DefaultAtOnce
	Timeout  time.Duration
	Retries  int
	Now      func() time.Time // nil is time.Now
	// Progress is told, from one goroutine at a time, how many of all meters are
	// done; may be nil.
	Progress func(done, all int)
	// Told is told the METER in full of each that is listed in short; may be nil.
	Told func(name, meter string)
}

// surveyor is one survey while it runs.
type surveyor struct {
	Options
	shared *diagnose.Tables
	list   *sites.List

	mu     sync.Mutex
	meters []Meter
}

// Run reads and judges every meter of a list. The end of ctx ends it early;
// then the result holds what is known.
func Run(ctx context.Context, list *sites.List, o Options) *Result {
	s := &surveyor{Options: o, shared: diagnose.NewTables(), list: list}
	s.Samples, s.AtOnce = max(1, s.Samples), max(0, s.AtOnce)
	s.AtOnce = cmp.Or(s.AtOnce, DefaultAtOnce)
	if s.Now == nil {
		s.Now = time.Now
	}
	wires := list.Wires()
	// The longest wires go first, so that none of them is left to the end alone.
	slices.SortStableFunc(wires, func(a, b sites.Wire) int { return len(b.Sites) - len(a.Sites) })
	at := s.Now()
	next := make(chan sites.Wire)
	var all sync.WaitGroup
	for range min(s.AtOnce, len(wires)) {
		all.Go(func() {
			for w := range next {
				s.wire(ctx, w)
			}
		})
	}
	for _, w := range wires {
		next <- w
	}
	close(next)
	all.Wait()
	r := &Result{At: at, Complete: ctx.Err() == nil, Listed: len(list.Sites), Meters: s.meters}
	Finish(r, list)
	return r
}

// wire reads the meters of one wire, round after round, and judges them.
func (s *surveyor) wire(ctx context.Context, w sites.Wire) {
	asked := round.New(round.Options{Timeout: s.Timeout, Retries: s.Retries, Maps: s.list.Maps, Told: s.Told})
	defer asked.Close()
	cases := make([]*held, len(w.Sites))
	for n := range s.Samples {
		if n > 0 && !round.Wait(ctx, s.Interval) {
			break
		}
		asked.Begin()
		for i, site := range w.Sites {
			if ctx.Err() != nil {
				break
			}
			if cases[i] == nil {
				cases[i] = &held{site: site}
			}
			s.read(ctx, asked, cases[i])
			if n == s.Samples-1 {
				s.done(cases[i])
			}
		}
	}
	for _, h := range cases { // interrupted before the last round: what there is
		if h != nil && !h.told && (h.taken > 0 || h.err != nil) {
			s.done(h)
		}
	}
}

// held is what is known of a meter so far.
type held struct {
	site  *sites.Site
	on    *diagnose.Case
	power series
	taken int
	err   error
	told  bool
}

var errNotAsked = errors.New("not asked: nothing on this wire answers")

func (s *surveyor) read(ctx context.Context, w *round.Wire, h *held) {
	if w.Dead() {
		h.err = errNotAsked
		return
	}
	for {
		r, err := w.Read(ctx, h.site)
		if errors.Is(err, io.EOF) && h.taken > 0 {
			return
		}
		if err != nil {
			if ctx.Err() == nil {
				h.err = err
			}
			return
		}
		if h.on == nil {
			h.on = diagnose.New(h.site.Options(s.shared))
		}
		h.on.Add(r)
		h.power.add(&r)
		h.taken++
		if h.site.Meter.Live() {
			return
		}
	}
}

func (s *surveyor) done(h *held) {
	m := h.meter()
	h.told = true
	s.mu.Lock()
	defer s.mu.Unlock()
	s.meters = append(s.meters, m)
	if s.Progress != nil {
		s.Progress(len(s.meters), len(s.list.Sites))
	}
}

// meter judges what was read.
func (h *held) meter() Meter {
	m := Meter{Name: h.site.Name, Site: h.site.Place, Status: Unreadable, at: h.power.at, spread: h.power.spread(),
		taken: h.taken}
	if h.taken == 0 {
		text := "it gave no reading"
		if h.err != nil {
			text = h.err.Error()
		}
		m.Error, m.Summary = &text, text
		return m
	}
	r := h.on.Result()
	h.site.CheckRating(&h.power.whole, &r)
	m.judged(&r)
	m.Power = h.power.last
	return m
}

// Seen sets when the power of a meter was read.
func (m *Meter) Seen(at time.Time) { m.at = at }

// judged enters a verdict.
func (m *Meter) judged(r *diagnose.Result) {
	m.Status, m.Summary, m.Verdict, m.Power = Status(r.Verdict), r.Summary, r, Registered(r)
	l := LossOf(r)
	m.Lost, m.Low, m.High = l.Best, l.Low, l.High
}
