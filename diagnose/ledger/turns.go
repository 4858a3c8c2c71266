package ledger

import (
	"fmt"
	"time"
)

// wholeTurns notes dials that could have gone right round unseen: where another
// span's mean power would have taken it half round or more.
func (r *Result) wholeTurns(l *Ledger) {
	digits := map[time.Time]int{}
	for _, e := range l.Entries {
		digits[e.At] = e.Digits
	}
	for i := range r.Differences {
		d := &r.Differences[i]
		n := digits[d.To]
		if n == 0 || !d.Energy.Known() {
			continue
		}
		dial := dialOf(n) * d.Multiplier * kiloOf(d.Unit)
		if most := r.fastest(d) * d.To.Sub(d.From).Hours(); most >= dial/2 {
			d.Note = joined(d.Note, fmt.Sprintf("at the pace of another span the dial of %.0f could have gone right round; "+
				"read it more often", dialOf(n)))
		}
	}
}

// fastest is the largest mean power of the register's other spans, in kW.
func (r *Result) fastest(not *Difference) float64 {
	var most float64
	for i := range r.Differences {
		d := &r.Differences[i]
		if hours := d.To.Sub(d.From).Hours(); d != not && d.Register == not.Register && hours > 0 {
			most = max(most, d.Energy.Or(0)/hours)
		}
	}
	return most
}

func joined(a, b string) string {
	if a == "" {
		return b
	}
	return a + "; " + b
}
