package day

import (
	"fmt"
	"strings"
	"time"

	"legwork/cmd/legwork/internal/survey"
)

// verdictSigns are a verdict beside its colour.
var verdictSigns = map[string]string{"agrees": "✓", "fault": "✗", "undecided": "?"}

// run is steps beside each other that are alike: from the one to before the other.
type run struct{ from, to int }

// runs parts the steps into runs of the same key.
func runs[K comparable](d *Day, key func(*Span) K) (all []run, keys []K) {
	for i := range d.Steps {
		k := key(&d.Steps[i])
		if n := len(all); n > 0 && keys[n-1] == k {
			all[n-1].to++
			continue
		}
		all, keys = append(all, run{i, i + 1}), append(keys, k)
	}
	return all, keys
}

// gap is why a step has no reading.
func gap(s *Span) string {
	switch {
	case s.answered():
		return ""
	case s.Asked:
		return "the meter did not answer"
	}
	return "nothing was recorded"
}

// mostSaid gaps or changes are said; the drawing has all.
const mostSaid = 5

// Words says in sentences what the drawing shows.
func (d *Day) Words() []string {
	out := []string{d.powers(), d.gaps()}
	if v := d.verdicts(); v != "" {
		out = append(out, v)
	}
	if d.Shift != 0 {
		way := "ahead of"
		if d.Shift < 0 {
			way = "behind"
		}
		out = append(out, fmt.Sprintf("The history's times are %s %s those of the readings; here they are the readings'.",
			lasting(d.Shift.Abs()), way))
	}
	return out
}

// powers says the least and the most mean of each channel.
func (d *Day) powers() string {
	var all []string
	for k := range d.Steps[0].Power {
		if low, high, known := d.between(k); known {
			all = append(all, fmt.Sprintf("channel %d from %s to %s", k+1, survey.KW(low), survey.KW(high)))
		}
	}
	return "Means of 5 minutes: " + strings.Join(all, ", ") + "."
}

// between gives the least and the most mean of a channel.
func (d *Day) between(k int) (low, high float64, known bool) {
	for i := range d.Steps {
		x, has := d.Steps[i].Power[k].Get()
		if !has {
			continue
		}
		if !known {
			low, high, known = x, x, true
		}
		low, high = min(low, x), max(high, x)
	}
	return low, high, known
}

// gaps says where readings are missing. The last step may not be over.
func (d *Day) gaps() string {
	var said []string
	steps := 0
	all, why := runs(d, gap)
	for i, r := range all {
		if why[i] == "" || r.from == Steps-1 {
			continue
		}
		steps += r.to - r.from
		said = append(said, fmt.Sprintf("%s to %s %s", d.clock(r.from), d.clock(r.to), why[i]))
	}
	if len(said) == 0 {
		return "No reading is missing."
	}
	return fmt.Sprintf("No readings for %s: %s.", lasting(time.Duration(steps)*Step), few(said))
}

// verdicts says how the verdict went, or nothing.
func (d *Day) verdicts() string {
	var said []string
	before := ""
	for i := range d.Steps {
		v := d.Steps[i].Verdict
		switch {
		case v == "" || v == before:
			continue
		case before == "":
			said = append(said, v)
		default:
			said = append(said, fmt.Sprintf("%s from %s", v, d.clock(i)))
		}
		before = v
	}
	if len(said) == 0 {
		return ""
	}
	return "Verdict: " + few(said) + "."
}

// few lists some and counts the others.
func few(all []string) string {
	if more := len(all) - mostSaid; more > 1 {
		return fmt.Sprintf("%s and %d more", strings.Join(all[:mostSaid], ", "), more)
	}
	return strings.Join(all, ", ")
}

// clock is the local time at which a step begins.
func (d *Day) clock(i int) string {
	return d.From.Add(time.Duration(i) * Step).Local().Format("15:04")
}

// lasting is how long some steps take.
func lasting(t time.Duration) string {
	h, m := int(t.Hours()), int(t.Minutes())%60
	switch {
	case h == 0:
		return fmt.Sprintf("%d min", m)
	case m == 0:
		return fmt.Sprintf("%d h", h)
	}
	return fmt.Sprintf("%d h %d min", h, m)
}
