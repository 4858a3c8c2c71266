package screen

import (
	"fmt"
	"io"
	"time"

	"legwork/diagnose/pulses"
)

// Pulses writes a count of pulses for a person.
func Pulses(out io.Writer, r pulses.Result, s Style) error {
	w := &writer{Style: s, out: out}
	w.verdictLine(wordOf(r.Verdict), r.Summary)
	w.line("")
	over := time.Duration(r.Seconds * float64(time.Second)).Round(10 * time.Millisecond)
	by := ""
	if r.Multiplier != 1 {
		by = fmt.Sprintf(" x %g", r.Multiplier)
	}
	w.line(fmt.Sprintf("  light    %10s kW   %d pulses of %.4g Wh%s over %s", Figures(r.PulseWatts/1000, true), r.Count,
		r.WhPerPulse, by, over))
	from := "as given"
	if r.Samples > 0 {
		from = fmt.Sprintf("mean of %d readings", r.Samples)
	}
	w.line(fmt.Sprintf("  power    %10s kW   %s", Figures(r.Watts/1000, true), from))
	w.line(fmt.Sprintf("  error    %+9.2f %%     %+.2f .. %+.2f %% (95 %%)", 100*r.Error, 100*r.ErrorLow, 100*r.ErrorHigh))
	if seconds, ok := r.WantedSeconds.Get(); ok {
		w.line(w.plain(fmt.Sprintf("  for ±%g %%: count %.0f pulses, %s", 100*r.Tolerance, r.WantedPulses.Or(0),
			time.Duration(seconds)*time.Second)))
	}
	w.notes(r.Notes)
	return w.err
}
