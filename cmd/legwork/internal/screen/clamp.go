package screen

import (
	"fmt"
	"io"

	"legwork/diagnose/clamp"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// between writes an interval.
func between(low, high reading.Value, decimals int) string {
	return Plain(low, decimals) + " .. " + Plain(high, decimals)
}

var comparedStates = map[clamp.State]string{clamp.Right: "right", clamp.Off: "off", clamp.Unsteady: "too unsteady",
	clamp.Drifted: "off, or it drifted", clamp.TooSmall: "too small to say", clamp.NotRead: "not read"}

// ComparedState says the state of a comparison.
func ComparedState(s clamp.State) string { return comparedStates[s] }

var comparedWidths = []int{7, 3, 10, 9, 5, 14, -18}

// Clamp writes a comparison for a person.
func Clamp(out io.Writer, r clamp.Result, s Style) error {
	w := &writer{Style: s, out: out}
	w.verdictLine(wordOf(r.Verdict), r.Summary)
	if len(r.Channels) == 0 {
		return w.err // it was stopped
	}
	w.line("")
	w.heads([]string{"channel", "leg", "instrument", "meter", "ratio", "95 %", "state"}, comparedWidths)
	for _, c := range r.Channels {
		unit := "A"
		if c.Quantity == reading.Voltage.String() {
			unit = "V"
		}
		w.row([]string{fmt.Sprint(c.Channel), fmt.Sprint(c.Leg), Figures(c.Instrument, true) + " " + unit,
			Amount(c.Meter, 1) + " " + unit, Plain(c.Ratio, 3), between(c.Low, c.High, 3), comparedStates[c.State]},
			comparedWidths)
	}
	w.line(w.plain(fmt.Sprintf("%d samples; clamp within %s, voltmeter within %s", r.Samples, r.Accuracy, r.VoltAccuracy)))
	if r.Verdict != wiring.Agrees {
		w.list("Before anything is touched", "  ! ", r.Cautions)
	}
	if len(r.Explanations) > 1 {
		w.head("What may explain it")
		for _, e := range r.Explanations {
			w.item("  - ", e.Words)
		}
	}
	w.evidence("As evidence for `legwork diagnose`", r.Evidence)
	w.notes(r.Notes)
	return w.err
}
