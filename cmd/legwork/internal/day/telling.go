package day

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"time"

	"legwork/cmd/legwork/internal/promql"
)

// telling is what the server has of the meter from one desk, by the server's
// clock.
type telling struct {
	spans [Steps]Span
	up    [Steps]float64  // share of the step's questions that the meter answered
	late  [Steps]float64  // by which the end of the step was after the reading, s; NaN where not known
	sites map[string]bool // said beside whether the meter answered
}

// mostDesks may have read a meter within a day. Our choice.
const mostDesks = 32

// tellings parts series by the desk that they come from, in a fixed order. A
// desk is all the labels that aren't ours: job and instance, and what a server
// adds of its own.
func tellings(all []promql.Series, from time.Time) ([]*telling, error) {
	by := map[string]*telling{}
	for i := range all {
		s := &all[i]
		key := desk(s.Metric)
		if by[key] == nil {
			if len(by) == mostDesks {
				return nil, fmt.Errorf("it has this meter from more than %d desks", mostDesks)
			}
			by[key] = newTelling()
		}
		by[key].enter(s, from)
	}
	var out []*telling
	for _, key := range slices.Sorted(maps.Keys(by)) {
		out = append(out, by[key])
	}
	return out, nil
}

func newTelling() *telling {
	t := &telling{sites: map[string]bool{}}
	for i := range t.late {
		t.late[i] = math.NaN()
	}
	return t
}

// own are the labels that say what a series is of.
var own = []string{"__name__", promql.Take, "meter", "site", "channel", "legwork_verdict"}

func desk(metric map[string]string) string {
	var b strings.Builder
	for _, name := range slices.Sorted(maps.Keys(metric)) {
		if !slices.Contains(own, name) {
			b.WriteString(name + "\x00" + metric[name] + "\x00")
		}
	}
	return b.String()
}

// enter takes a series. A time that ends no step of the day is none that was
// asked for.
func (t *telling) enter(s *promql.Series, from time.Time) {
	take := s.Metric[promql.Take]
	if take == promql.Up {
		t.sites[s.Metric["site"]] = true
	}
	for _, v := range s.Values {
		x, finite := v.Number()
		after := time.UnixMilli(v.At).Sub(from)
		i := int(after/Step) - 1
		if !finite || i < 0 || i >= Steps || after%Step != 0 {
			continue
		}
		switch take {
		case promql.Read:
			t.late[i] = float64(v.At)/1000 - x
		case promql.Up:
			t.up[i] = x
			t.spans[i].Asked = true
		default:
			t.spans[i].enter(s.Metric, x)
		}
	}
}

// slack is how far the end of a step may be from the reading before it, beside
// the interval of the desk, before a clock is held to be wrong. Our choice.
const slack = 3 * Step

// turn puts the steps where the readings' own times say, if the server's clock
// is off, and says by how much it was ahead. Only steps in which the meter
// always answered say so: in others the last reading is old.
func (t *telling) turn(every time.Duration) time.Duration {
	var late []float64
	for i, x := range t.late {
		if t.up[i] == 1 && !math.IsNaN(x) {
			late = append(late, x)
		}
	}
	if len(late) == 0 {
		return 0
	}
	slices.Sort(late)
	middle := late[len(late)/2]
	if math.Abs(middle) < (slack+every).Seconds() || math.Abs(middle) > whole.Seconds() {
		return 0
	}
	by := int(math.Round(middle / Step.Seconds()))
	var turned [Steps]Span
	for i := range turned {
		if from := i + by; from >= 0 && from < Steps {
			turned[i] = t.spans[from]
		}
	}
	t.spans = turned
	return time.Duration(by) * Step
}
