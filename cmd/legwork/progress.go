package main

import (
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"golang.org/x/term"

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

// progress shows how far the search is: on a terminal in place, else not at all.
type progress struct {
	w    io.Writer
	live bool
}

func (a *app) progress() progress {
	f, ok := a.stderr.(*os.File)
	return progress{a.stderr, ok && term.IsTerminal(int(f.Fd()))}
}

func (p progress) step(s seek.Step) {
	if p.live {
		fmt.Fprintf(p.w, "\r\x1b[K  %d of %d  %s, unit %d  (%s left at most)", s.Done, s.Total, s.Way, s.Unit,
			roundly(s.Left))
	}
}

func (p progress) end() {
	if p.live {
		fmt.Fprint(p.w, "\r\x1b[K")
	}
}
