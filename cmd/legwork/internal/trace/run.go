package trace

import (
	"context"
	"errors"
	"slices"
	"sync"
	"time"

	"legwork/cmd/legwork/internal/round"
	"legwork/cmd/legwork/internal/sites"
)

// Options say how meters are watched.
type Options struct {
	Every   time.Duration // 0 is 1 s
	Off     time.Duration // how long people were asked to leave a breaker off
	Timeout time.Duration
	// Found is told each circuit, sure or not, from one goroutine at a time; false
	// ends the trace.
	Found func(Circuit) bool
	// Told is told the METER in full of each that is listed in short; may be nil.
	Told func(name, meter string)
}

// ErrNoAnswer is a trace in which no meter ever answered.
var ErrNoAnswer = errors.New("no meter answered")

// Run watches all meters until ctx ends or Found says so.
func Run(ctx context.Context, list *sites.List, o Options) error {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	if o.Every <= 0 {
		o.Every = time.Second
	}
	w := newWatching(list, o)
	w.stop = stop
	var wires sync.WaitGroup
	for _, one := range list.Wires() {
		p := round.Poller{Options: round.Options{Timeout: o.Timeout, Maps: list.Maps, Told: o.Told}, Every: o.Every,
			Each: w.each}
		wires.Go(func() { p.Run(ctx, one.Sites) })
	}
	wires.Wait()
	if !w.ever {
		return ErrNoAnswer
	}
	return nil
}

func newWatching(list *sites.List, o Options) *watching {
	w := &watching{o: o, tracer: New(o.Off), under: map[string]string{}, mains: map[string]bool{}, stop: func() {}}
	for _, s := range list.Sites {
		w.under[s.Name], w.mains[s.Under] = s.Under, true
	}
	return w
}

// watching is one trace while it runs.
type watching struct {
	o      Options
	tracer *Tracer
	stop   context.CancelFunc

	under map[string]string // the meter above
	mains map[string]bool   // meters with others below

	mu   sync.Mutex
	held []Circuit // of mains: one below may show the same
	last []Circuit // of meters with none below
	ever bool
	over bool
}

func (w *watching) each(o round.Outcome) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.over || o.Err != nil {
		return
	}
	w.ever = true
	c, found := w.tracer.Add(o.Site.Name, &o.Reading)
	switch {
	case found && w.mains[c.Meter] && w.shownBelow(c):
	case found && w.mains[c.Meter]:
		w.held = append(w.held, c)
	case found:
		w.release(c)
		w.last = append(w.last[max(0, len(w.last)-mostLast+1):], c)
		w.tell(c)
	}
	for len(w.held) > 0 && o.Reading.At.Sub(w.held[0].At) > patience*w.o.Every {
		c := w.held[0]
		w.held = w.held[1:]
		w.tell(c)
	}
}

// patience is how many polls a circuit of a main waits for a meter below it to
// show the same: what is switched shows on both.
const patience = 3

// mostLast is how many circuits are remembered for their mains' sake.
const mostLast = 16

// above reports that a main is over a meter, whatever stands between.
func (w *watching) above(main, meter string) bool {
	for up := w.under[meter]; up != ""; up = w.under[up] {
		if up == main {
			return true
		}
	}
	return false
}

// atOnce reports two circuits that came back within the same few polls.
func (w *watching) atOnce(a, b Circuit) bool { return a.At.Sub(b.At).Abs() <= patience*w.o.Every }

// shownBelow reports a circuit that a meter below has shown just now.
func (w *watching) shownBelow(c Circuit) bool {
	return slices.ContainsFunc(w.last, func(l Circuit) bool { return w.above(c.Meter, l.Meter) && w.atOnce(c, l) })
}

// release drops what mains above showed of a circuit.
func (w *watching) release(c Circuit) {
	w.held = slices.DeleteFunc(w.held, func(h Circuit) bool { return w.above(h.Meter, c.Meter) && w.atOnce(h, c) })
}

func (w *watching) tell(c Circuit) {
	if !w.over && !w.o.Found(c) {
		w.over = true
		w.stop()
	}
}
