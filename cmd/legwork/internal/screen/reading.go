package screen

import (
	"fmt"
	"io"
	"strings"
	"time"

	"legwork/probe/reading"
	"legwork/probe/regmap"
)

// Reading writes one reading as a table.
func Reading(out io.Writer, r reading.Reading, s Style) error {
	w := &writer{Style: s, out: out}
	for i, l := range w.wrap(r.At.Format(time.DateTime)+w.once(r), 3) {
		w.line(strings.Repeat("   ", min(i, 1)) + strings.TrimLeft(l, " "))
	}
	w.heads([]string{"channel", "V", "A", "kW", "kvar", "pf", "lag °", "V at °"}, readingWidths)
	for k, c := range r.Channels {
		cells := []string{fmt.Sprint(k + 1), Plain(c.Voltage, 1), Amount(c.Current, 1), Amount(c.Power, 1000),
			Amount(c.Reactive, 1000), Plain(c.PowerFactor, 3), Plain(c.Angle, 1), Plain(c.VoltageAngle, 1)}
		w.row(cells, readingWidths)
	}
	return w.err
}

var readingWidths = []int{7, 7, 8, 8, 8, 6, 7, 8}

// once is what a reading has once for all channels, as far as it is known.
func (w *writer) once(r reading.Reading) string {
	text := ""
	if hz, ok := r.Frequency.Get(); ok {
		text += fmt.Sprintf("   %.2f Hz", hz)
	}
	if watts, ok := r.TotalPower.Get(); ok {
		text += fmt.Sprintf("   %s kW in all", Figures(watts/1000, true))
	}
	if amps, ok := r.NeutralCurrent.Get(); ok {
		text += fmt.Sprintf("   %s A in the neutral", Figures(amps, true))
	}
	if nema, negative, ok := reading.LineUnbalance(r.LineVoltages); ok {
		text += fmt.Sprintf("   unbalance %.1f %% (negative sequence %.1f %%)", 100*nema, 100*negative)
	}
	return text
}

// Map writes a map's plan and points, with the raw words where they were read.
func Map(out io.Writer, plan []regmap.Request, lines []regmap.Line, s Style) error {
	w := &writer{Style: s, out: out}
	w.line(Count(len(plan), "request", "requests") + " a reading:")
	for _, r := range plan {
		w.line(fmt.Sprintf("  function %d, registers %s", r.Table.Function(), r))
	}
	w.line("")
	for _, l := range lines {
		w.line(w.cells([]string{l.Point, l.Registers, l.Reads}, []int{-20, -18, -24}) + "  -> " + l.Means)
		if l.Raw != "" {
			w.line(fmt.Sprintf("  %20s  %s = %s", "", l.Raw, l.Value))
		}
	}
	return w.err
}
