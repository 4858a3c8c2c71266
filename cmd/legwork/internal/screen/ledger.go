package screen

import (
	"fmt"
	"io"
	"time"

	"legwork/diagnose/ledger"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

var differenceWidths = []int{-8, 14, 14, 10, 14}

// stampForm is how tables show a time.
const stampForm = "2006-01-02 15:04"

// Ledger writes what a ledger of reads says for a person.
func Ledger(out io.Writer, r ledger.Result, s Style) error {
	w := &writer{Style: s, out: out}
	w.verdictLine(wordOf(r.Word()), r.Summary)
	if r.Meter != "" {
		w.line(w.plain(r.Meter))
	}
	w.differences(r)
	w.checks(r)
	if len(r.Gaps) > 0 {
		w.head("Meters replaced")
		for _, g := range r.Gaps {
			w.item("  - ", fmt.Sprintf("%s to %s: %s", g.From.Format(stampForm), g.To.Format(stampForm), g.Note))
		}
	}
	w.notes(r.Notes)
	return w.err
}

func (w *writer) differences(r ledger.Result) {
	var from, to time.Time
	for i, d := range r.Differences {
		if i == 0 || !d.From.Equal(from) || !d.To.Equal(to) {
			from, to = d.From, d.To
			w.head(fmt.Sprintf("%s to %s (%s)", from.Format(stampForm), to.Format(stampForm), Elapsed(to.Sub(from))))
			w.heads([]string{"register", "before", "after", "multiplier", "difference"}, differenceWidths)
		}
		w.row([]string{d.Register, Register(reading.Known(d.Before)), Register(reading.Known(d.After)),
			Register(reading.Known(d.Multiplier)), Register(d.Energy)}, differenceWidths)
		if d.Note != "" {
			w.item("            ", d.Note)
		}
	}
	if len(r.Totals) == 0 {
		return
	}
	w.head("In all")
	for _, t := range r.Totals {
		w.row([]string{t.Register, Register(t.Energy)}, []int{-8, 14})
	}
}

// Register writes a register's value with the digits that it has.
func Register(v reading.Value) string {
	x, ok := v.Get()
	if !ok {
		return unknown
	}
	return Digits(x, 10)
}

func (w *writer) checks(r ledger.Result) {
	if len(r.Checks) == 0 {
		return
	}
	w.head("Compared")
	for _, c := range r.Checks {
		word := map[wiring.Verdict]string{wiring.Agrees: "agrees", wiring.Fault: "DIFFERS",
			wiring.Undecided: "open"}[c.Verdict]
		text := fmt.Sprintf("%s: %s to %s, %s: %s", word, c.From.Format(stampForm), c.To.Format(stampForm), c.What,
			energyPair(c))
		if c.Note != "" {
			text += "; " + c.Note
		}
		w.item("  - ", text)
	}
}

func energyPair(c ledger.Check) string {
	if !c.Expected.Known() {
		return Register(c.Found)
	}
	return fmt.Sprintf("%s, expected %s ± %s", Register(c.Found), Register(c.Expected), Digits(c.Within, 3))
}
