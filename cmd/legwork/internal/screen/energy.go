package screen

import (
	"fmt"
	"io"
	"math"

	"legwork/diagnose/energy"
	"legwork/diagnose/wiring"
)

// estimateWords say whether there is one: a fault is what it is an estimate for.
var estimateWords = map[wiring.Verdict]word{wiring.Agrees: {green, "AGREES"}, wiring.Fault: {yellow, "ESTIMATE"},
	wiring.Undecided: {yellow, "NO ESTIMATE"}}

// Energy writes an estimate for a person.
func Energy(out io.Writer, r energy.Result, s Style) error {
	w := &writer{Style: s, out: out}
	w.verdictLine(estimateWords[r.Verdict], r.Summary)
	w.line("")
	if r.Words != "" {
		w.item("  fault         ", r.Words)
	}
	w.item("  load          ", r.Conditions)
	w.heads([]string{"", "", "low", "high"}, energyWidths)
	w.row([]string{"registered", KWh(r.Registered) + " kWh", "", ""}, energyWidths)
	w.band("registration", r.Registration, "", 1)
	w.band("K", r.K, "", 1)
	w.band("true", r.True, " kWh", 1000)
	w.band("missing", r.Missing, " kWh", 1000)
	if len(r.Periods) > 0 {
		w.head("By period, in kWh")
		w.heads([]string{"", "registered", "missing", "price", "charge"}, periodWidths)
		for _, p := range r.Periods {
			w.row([]string{p.Name, KWh(p.Registered), KWh(p.Missing.Best), fmt.Sprintf("%g", p.Price),
				fmt.Sprintf("%.2f (%.0f .. %.0f)", p.Charge.Best, p.Charge.Low, p.Charge.High)}, periodWidths)
		}
	}
	w.notes(r.Notes)
	return w.err
}

var (
	energyWidths = []int{-12, 16, 12, 12}
	periodWidths = []int{-8, 10, 11, 7, 34}
)

// band writes a value with its interval; nothing where it isn't known.
func (w *writer) band(name string, g *energy.Registration, unit string, by float64) {
	if g == nil {
		return
	}
	cell := func(x float64) string { return Digits(x/by, 5) }
	if by != 1 {
		cell = KWh
	}
	w.row([]string{name, cell(g.Best) + unit, cell(g.Low), cell(g.High)}, energyWidths)
}

// KWh writes Wh as kWh, with six figures: more would pretend.
func KWh(wh float64) string {
	x := wh / 1000
	if size := math.Abs(x); size >= 1e5 {
		return fmt.Sprintf("%.0f", x)
	}
	return fmt.Sprintf("%.6g", x)
}
