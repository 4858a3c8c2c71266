package ledger

import (
	"time"

	"legwork/diagnose/wiring"
)

// span is all differences over the same time.
type span struct {
	from, to time.Time
	of       map[string]Difference
}

func spans(all []Difference) []span {
	var found []span
	for _, d := range all {
		i := 0
		for i < len(found) && (!found[i].from.Equal(d.From) || !found[i].to.Equal(d.To)) {
			i++
		}
		if i == len(found) {
			found = append(found, span{d.From, d.To, map[string]Difference{}})
		}
		found[i].of[d.Register] = d
	}
	return found
}

func (s span) check(what string) Check { return Check{From: s.from, To: s.to, What: what} }

func verdictOf(agrees bool) wiring.Verdict {
	if agrees {
		return wiring.Agrees
	}
	return wiring.Fault
}

// compare sets found against expected.
func (c *Check) compare() {
	found, ok := c.Found.Get()
	expected, ok2 := c.Expected.Get()
	if !ok || !ok2 {
		c.Verdict, c.Note = wiring.Undecided, "a difference in it can't be told"
		return
	}
	c.Verdict = verdictOf(found >= expected-c.Within && found <= expected+c.Within)
}
