package screen

import (
	"fmt"
	"io"
	"strings"
	"time"

	"legwork/probe/health"
)

// Line says what is wrong with the wire to a meter, and the counts behind it.
func Line(w io.Writer, meter string, findings []health.Finding, e health.Evidence) error {
	var b strings.Builder
	if len(findings) == 0 {
		fmt.Fprintf(&b, "The wire to %s is in order.\n", meter)
	}
	for _, f := range findings {
		fmt.Fprintf(&b, "%s%s\n  seen:  %s\n  check: %s\n", strings.ToUpper(string(f.Trouble[:1])), f.Trouble[1:], f.Seen,
			f.Check)
	}
	c := e.Counts
	fmt.Fprintf(&b, "\n%d requests, %d answers, %d silent, %d late, %d refused, %d spoilt, slowest %s\n", c.Requests,
		c.Answers, c.Silent(), c.LateAnswers, c.Exceptions, c.Spoilt(), c.Slowest.Round(100*time.Microsecond))
	_, err := io.WriteString(w, b.String())
	return err
}
