package ledger

import (
	"fmt"
	"math"
	"slices"
	"time"

	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// DefaultGap is how far apart two readings may be for the power between them to
// count as known. Our choice, no source.
const DefaultGap = 5 * time.Minute

// Integral adds up the power of a capture between the reads of a ledger. It keeps
// sums, not readings. Make one with Ledger.Integral.
type Integral struct {
	Gap   time.Duration
	edges []time.Time
	parts []part
	first int // part that may still grow
	last  sample
	any   bool
}

// sample is the powers of one reading in W: the whole, then the channels.
type sample struct {
	at    time.Time
	watts [4]reading.Value
}

// part is what went through between two neighbouring reads, by register.
type part struct {
	wh      [4]float64
	covered [4]float64 // s
}

// Integral makes one for the times of the ledger's reads; a gap of 0 is DefaultGap.
func (l *Ledger) Integral(gap time.Duration) *Integral {
	if gap <= 0 {
		gap = DefaultGap
	}
	g := &Integral{Gap: gap}
	for _, e := range l.Entries {
		if n := len(g.edges); n == 0 || e.At.After(g.edges[n-1]) {
			g.edges = append(g.edges, e.At)
		}
	}
	g.parts = make([]part, max(0, len(g.edges)-1))
	return g
}

// Add takes one more reading of the capture, in order of time.
func (g *Integral) Add(r reading.Reading) {
	now := sample{at: r.At}
	now.watts[0] = r.Watts()
	for k := range min(len(r.Channels), reading.MaxChannels) {
		now.watts[k+1] = r.Channels[k].Power
	}
	if g.any && now.at.After(g.last.at) && now.at.Sub(g.last.at) <= g.Gap {
		g.between(g.last, now)
	}
	g.last, g.any = now, true
}

// between adds the trapezium between two samples to every span that it reaches into.
func (g *Integral) between(a, b sample) {
	for g.first < len(g.parts) && !g.edges[g.first+1].After(a.at) {
		g.first++
	}
	for i := g.first; i < len(g.parts) && g.edges[i].Before(b.at); i++ {
		from := slices.MaxFunc([]time.Time{a.at, g.edges[i]}, time.Time.Compare)
		to := slices.MinFunc([]time.Time{b.at, g.edges[i+1]}, time.Time.Compare)
		for k := range a.watts {
			wa, ok := a.watts[k].Get()
			wb, ok2 := b.watts[k].Get()
			if !ok || !ok2 {
				continue
			}
			at := func(t time.Time) float64 { return wa + (wb-wa)*t.Sub(a.at).Seconds()/b.at.Sub(a.at).Seconds() }
			seconds := to.Sub(from).Seconds()
			// trapezium: (P(from) + P(to))/2 x s / 3600 s/h, Wh
			g.parts[i].wh[k] += (at(from) + at(to)) / 2 * seconds / 3600
			g.parts[i].covered[k] += seconds
		}
	}
}

// over gives kWh between two reads and the share of the time that is covered.
func (g *Integral) over(from, to time.Time, k int) (kwh, coverage float64) {
	var seconds float64
	for i := range g.parts {
		if !g.edges[i].Before(from) && !g.edges[i+1].After(to) {
			kwh += g.parts[i].wh[k] / 1000
			seconds += g.parts[i].covered[k]
		}
	}
	return kwh, seconds / to.Sub(from).Seconds()
}

// What a comparison with a capture asks for and allows. Our choice, no source.
const (
	leastCoverage = 0.95 // below it nothing is concluded
	captureWithin = 0.02 // share, of meter, capture and sampling together
)

// against compares a span's active energies with the capture.
func (s span) against(g *Integral) []Check {
	var all []Check
	for k := range 4 {
		d, ok := s.of[Register{"kWh", k}.String()]
		if !ok {
			continue
		}
		kwh, coverage := g.over(s.from, s.to, k)
		c := s.check(d.Register + " against the capture's power")
		c.Found, c.Coverage = d.Energy, reading.Known(coverage)
		if coverage > 0 {
			c.Expected = reading.Known(tidy(kwh / coverage))
		}
		// What isn't covered may have been anything up to as much again.
		c.Within = d.Within + math.Abs(c.Expected.Or(0))*(captureWithin+(1-coverage))
		switch c.compare(); {
		case coverage == 0:
			c.Note = "the capture covers none of this time"
		case coverage < leastCoverage:
			c.Verdict, c.Note = wiring.Undecided, fmt.Sprintf("the capture covers %.0f %% of this time; the rest is not known",
				100*coverage)
		case c.Verdict == wiring.Fault:
			c.Note = "the register, the multiplier or the power is off; or power flowed back, which a register of import " +
				"doesn't take off"
		case coverage < 0.9999:
			c.Note = fmt.Sprintf("the capture covers %.1f %% of this time; the rest is taken as alike", 100*coverage)
		}
		all = append(all, c)
	}
	return all
}
