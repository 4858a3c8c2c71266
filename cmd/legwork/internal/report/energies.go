package report

import (
	"fmt"
	"time"

	"legwork/cmd/legwork/internal/screen"
	"legwork/diagnose/energy"
	"legwork/diagnose/ledger"
	"legwork/diagnose/wiring"
)

func (it *item) ledger(r *ledger.Result) {
	it.fact("Meter", r.Meter)
	var moved, totals, checks [][]string
	for _, d := range r.Differences {
		row := fmt.Sprintf("%s, %s", d.Register, fromTo(d.From, d.To))
		if d.Multiplier != 1 {
			row += fmt.Sprintf(", times %g", d.Multiplier)
		}
		if d.Note != "" {
			row += "; " + d.Note
		}
		moved = append(moved, []string{row, screen.Digits(d.Before, 10), screen.Digits(d.After, 10),
			screen.Register(d.Energy)})
	}
	it.table("Energy by register, kWh or kVAh", moved, words("Register"), numbers("Before", "After", "Difference"))
	for _, t := range r.Totals {
		totals = append(totals, []string{t.Register, screen.Register(t.Energy)})
	}
	it.table("Total, kWh or kVAh", totals, words("Register"), numbers("Energy"))
	for _, c := range r.Checks {
		what := fmt.Sprintf("%s, %s", c.What, fromTo(c.From, c.To))
		if c.Note != "" {
			what += "; " + c.Note
		}
		checks = append(checks, []string{what, screen.Register(c.Found), screen.Register(c.Expected),
			screen.Digits(c.Within, 3), checkWord(c.Verdict)})
	}
	it.table("Compared, kWh or kVAh", checks, words("What"), numbers("Found", "Expected", "Within"), words("Outcome"))
	for _, g := range r.Gaps {
		it.notes([]string{fmt.Sprintf("%s: %s", fromTo(g.From, g.To), g.Note)})
	}
	it.notes(r.Notes)
}

func fromTo(from, to time.Time) string {
	const form = "2006-01-02 15:04"
	return from.Format(form) + " to " + to.Format(form)
}

func checkWord(v wiring.Verdict) string {
	return map[wiring.Verdict]string{wiring.Agrees: "agrees", wiring.Fault: "differs", wiring.Undecided: "open"}[v]
}

func (it *item) energy(r *energy.Result) {
	it.fact("Fault", r.Words)
	it.fact("Load", r.Conditions)
	it.fact("Basis", map[energy.Basis]string{energy.FromReadings: "the verdict on readings",
		energy.FromPerson:  "a registration that was given",
		energy.FromAssumed: "an arrangement that was assumed"}[r.Basis])
	rows := [][]string{{"Registered, kWh", screen.KWh(r.Registered), "", ""}}
	rows = append(rows, band("Registration", r.Registration, 1)...)
	rows = append(rows, band("K, true over registered", r.K, 1)...)
	rows = append(rows, band("True energy, kWh", r.True, 1000)...)
	rows = append(rows, band("Missing, kWh", r.Missing, 1000)...)
	it.table("Energy with its 95 % interval", rows, words("What"), numbers("Best", "Low", "High"))
	var periods [][]string
	for _, p := range r.Periods {
		periods = append(periods, []string{p.Name, screen.KWh(p.Registered), screen.KWh(p.Missing.Best),
			fmt.Sprintf("%g", p.Price),
			fmt.Sprintf("%.2f (%.0f to %.0f)", p.Charge.Best, p.Charge.Low, p.Charge.High)})
	}
	it.table("By period", periods, words("Period"), numbers("Registered kWh", "Missing kWh", "Price", "Charge"))
	it.notes(r.Notes)
}

// band is the row of a value with its interval; none where it isn't known.
func band(name string, g *energy.Registration, unit float64) [][]string {
	if g == nil {
		return nil
	}
	cell := func(x float64) string { return screen.Digits(x, 5) }
	if unit == 1000 {
		cell = screen.KWh
	}
	return [][]string{{name, cell(g.Best), cell(g.Low), cell(g.High)}}
}
