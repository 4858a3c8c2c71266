package day

import (
	"cmp"
	"errors"
	"math"
	"slices"
	"strconv"
	"time"

	"legwork/cmd/legwork/internal/promql"
	"legwork/probe/reading"
)

// What is asked for. Our choice: on a telephone a step is a little wider than a
// pixel.
const (
	Step  = 5 * time.Minute
	Steps = 288
	whole = Steps * Step
)

// Day is a meter's last day.
type Day struct {
	From  time.Time // the first step begins here
	Steps [Steps]Span
	Shift time.Duration // how far the server's times were ahead of the readings' own, at most
}

// Span is one step.
type Span struct {
	Power   [reading.MaxChannels]reading.Value // mean, W
	Asked   bool                               // by a desk, whether the meter answered or not
	Verdict string                             // at its end; empty where none is known
}

// answered reports that the step has a power.
func (s *Span) answered() bool {
	return slices.ContainsFunc(s.Power[:], func(v reading.Value) bool { return v.Known() })
}

// Begin is when the day begins that ends now: at a whole step, so that servers
// can keep what they have worked out.
func Begin(now time.Time) time.Time { return now.Truncate(Step).Add(Step - whole) }

// What may be wrong with what a server keeps.
var (
	ErrNone = errors.New("it has no readings of this meter at this site from the last day")
	ErrTwo  = errors.New("it has two meters of this name and site, whose powers differ at the same time")
)

// Of makes a day of what a server keeps of a meter at a site. every is how often
// the desk asks.
func Of(all []promql.Series, site string, from time.Time, every time.Duration) (*Day, error) {
	d := &Day{From: from}
	found := 0
	parts, err := tellings(all, from)
	if err != nil {
		return nil, err
	}
	for _, t := range parts {
		if !t.sites[site] { // a desk that has renamed the site has both
			continue
		}
		off := t.turn(every)
		if off.Abs() > d.Shift.Abs() {
			d.Shift = off
		}
		if !d.takes(t) {
			return nil, ErrTwo
		}
		for i := range t.spans {
			if t.spans[i].answered() {
				found++
			}
			d.Steps[i].add(&t.spans[i])
		}
	}
	if found == 0 {
		return nil, ErrNone
	}
	return d, nil
}

// add takes over what isn't known yet.
func (s *Span) add(o *Span) {
	s.Asked = s.Asked || o.Asked
	if !s.answered() {
		s.Power = o.Power
	}
	s.Verdict = cmp.Or(s.Verdict, o.Verdict)
}

// When two desks read one meter, their means of a step differ by what the load
// did between the moments at which they asked. Our choice.
const (
	apartBy   = 0.2 // of the larger power
	apartFrom = 50  // W, below which nothing is said
	fewest    = 4   // steps that speak
)

// takes reports that what a desk read may be of the same meter as what is there:
// in most steps that both have, they agree.
func (d *Day) takes(t *telling) bool {
	both, apart := 0, 0
	for i := range d.Steps {
		a, b := &d.Steps[i], &t.spans[i]
		if !a.answered() || !b.answered() {
			continue
		}
		both++
		if differ(a, b) {
			apart++
		}
	}
	return apart < fewest || 2*apart < both
}

func differ(a, b *Span) bool {
	for k := range a.Power {
		x, y := a.Power[k], b.Power[k]
		if x.Known() != y.Known() {
			return true
		}
		size := max(math.Abs(x.Or(0)), math.Abs(y.Or(0)))
		if math.Abs(x.Or(0)-y.Or(0)) > max(apartFrom, apartBy*size) {
			return true
		}
	}
	return false
}

// most is more power than any channel has, W: what is beyond is no power.
const most = 1e10

// enter puts one sample of a series in its place.
func (s *Span) enter(metric map[string]string, x float64) {
	switch metric[promql.Take] {
	case promql.Power:
		k, err := strconv.Atoi(metric["channel"])
		if err == nil && k >= 1 && k <= len(s.Power) && math.Abs(x) < most {
			s.Power[k-1] = reading.Known(x)
		}
	case promql.Verdict:
		if v := metric["legwork_verdict"]; verdictSigns[v] != "" {
			s.Verdict = v
		}
	}
}
