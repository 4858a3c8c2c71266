package screen

import (
	"fmt"
	"io"

	"legwork/cmd/legwork/internal/survey"
	"legwork/cmd/legwork/internal/trace"
)

// Circuit writes a circuit that was found, or that may be one.
func Circuit(out io.Writer, c trace.Circuit, s Style) error {
	w := &writer{Style: s, out: out}
	line := fmt.Sprintf("%s  %s, channel %d: %s", c.At.Local().Format("15:04:05"), s.Bold(OneLine(c.Meter)), c.Channel,
		survey.KW(c.Power))
	for _, o := range c.Channels {
		if o.Channel != c.Channel {
			line += fmt.Sprintf(", channel %d: %s", o.Channel, survey.KW(o.Power))
		}
	}
	line += fmt.Sprintf("; off for %.0f s (%.0f %%)", c.Off, 100*c.Probability)
	if c.Before >= 1 {
		line += fmt.Sprintf("; this meter changed like this by itself about %.0f times", c.Before)
	}
	w.line(w.plain(line))
	return w.err
}
