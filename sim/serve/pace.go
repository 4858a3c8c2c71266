package serve

import (
	"io"
	"time"
)

// pacing is when bytes are due on a line.
type pacing struct {
	start time.Duration // before the first
	char  time.Duration // of each; 0 sends at once

	latency time.Duration // added to the last byte, as by an adapter that waits for more
}

// chunk is how many characters a serial adapter hands on at a time.
const chunk = 16

// play sends acts in their time, and reports whether the line is still good.
func play(line io.WriteCloser, acts []act, p pacing) bool {
	due := time.Now().Add(p.start)
	for _, a := range acts {
		due = due.Add(a.wait)
		if a.bytes == nil {
			_ = line.Close()
			return false
		}
		for rest := a.bytes; len(rest) > 0; {
			n := len(rest)
			if p.char > 0 {
				n = min(n, chunk)
			}
			due = due.Add(time.Duration(n) * p.char)
			if n == len(rest) {
				due = due.Add(p.latency)
			}
			time.Sleep(time.Until(due))
			if _, err := line.Write(rest[:n]); err != nil {
				return false
			}
			rest = rest[n:]
		}
	}
	return true
}
