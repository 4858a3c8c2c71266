package main

import (
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"golang.org/x/term"

	"legwork/probe/health"
	"legwork/probe/link"
	"legwork/probe/seek"
)

func roundly(d time.Duration) string {
	if d < time.Minute {
		return d.Round(time.Second).String()
	}
	text := d.Round(10 * time.Second).String()
	if strings.HasSuffix(text, "m0s") {
		return strings.TrimSuffix(text, "0s")
	}
	return text
}

// progress says what is being tried, to whoever waits: on a terminal in place,
// else in a line once there was silence for longer than patience.
type progress struct {
	w    io.Writer
	live bool
	said time.Time
}

// patience is how long a person waits without a word. Common practice, no source.
const patience = 2 * time.Second

func (a *app) progress() *progress {
	f, ok := fileOf(a.stderr)
	return &progress{a.stderr, ok && !a.lineByLine() && term.IsTerminal(int(f.Fd())), time.Now()}
}

// lineByLine reports that nothing may be drawn over: a screen reader or a dumb
// terminal can't follow that.
func (a *app) lineByLine() bool { return a.inWords() || os.Getenv("TERM") == "dumb" }

func (p *progress) tell(format string, args ...any) {
	switch {
	case p.live:
		fmt.Fprintf(p.w, "\r\x1b[K  "+format, args...)
	case time.Since(p.said) >= patience:
		p.said = time.Now()
		fmt.Fprintf(p.w, "  "+format+"\n", args...)
	}
}

func (p *progress) step(s seek.Step) {
	if s.Confirming > 0 {
		p.tell("%s, unit %d answers; further question %d", s.Way, s.Unit, s.Confirming)
		return
	}
	p.tell("%d of %d  %s, unit %d  (%s left at most)", s.Done, s.Total, s.Way, s.Unit, roundly(s.Left))
}

func (p *progress) examines(s health.Step) {
	p.tell("%s: %d of %d questions were answered so far; asking for %s", s.Phase, s.Answered, s.Asked, registers(s.Registers))
}

func (p *progress) asking(r link.Read) { p.tell("asking %s", r) }

func registers(n int) string {
	if n == 1 {
		return "1 register"
	}
	return fmt.Sprintf("%d registers", n)
}

func (p *progress) end() {
	if p.live {
		fmt.Fprint(p.w, "\r\x1b[K")
	}
}
