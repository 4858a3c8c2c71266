package main

import (
	"fmt"
	"io"
	"os"
	"strings"
	"sync"
	"time"

	"github.com/charmbracelet/x/ansi"
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
// else in a line once there was silence for longer than patience. One try may
// last longer than that: then its own line is said while it lasts.
type progress struct {
	w    io.Writer
	live bool

	lock    sync.Mutex
	shown   bool // a line is on the terminal that the next one goes over
	said    time.Time
	pending string      // what is being tried and was not said
	soon    *time.Timer // says it; nil while nothing waits
}

// patience is how long a person waits without a word. Common practice, no source.
const patience = 2 * time.Second

func (a *app) progress() *progress {
	p := &progress{w: a.stderr, said: time.Now()}
	if f, ok := fileOf(a.stderr); ok && !a.lineByLine() && term.IsTerminal(int(f.Fd())) {
		p.w, p.live = f, true // past the guard, which would write the return of the cursor out
	}
	return p
}

// lineByLine reports that nothing may be drawn over: a screen reader or a dumb
// terminal can't follow that.
func (a *app) lineByLine() bool { return a.inWords() || os.Getenv("TERM") == "dumb" }

func (p *progress) tell(format string, args ...any) {
	p.lock.Lock()
	defer p.lock.Unlock()
	if p.live {
		p.shown = true
		line := fmt.Sprintf("  "+format, args...)
		fmt.Fprint(p.w, "\r\x1b[K", ansi.Truncate(line, columnsOf(p.w)-1, "...")) // what wraps can't be gone over
		return
	}
	p.pending = fmt.Sprintf("  "+format+"\n", args...)
	if left := patience - time.Since(p.said); left > 0 {
		if p.soon == nil {
			p.soon = time.AfterFunc(left, p.sayPending)
		}
		return
	}
	p.say()
}

func (p *progress) sayPending() {
	p.lock.Lock()
	defer p.lock.Unlock()
	p.soon = nil
	p.say()
}

func (p *progress) say() {
	if p.pending != "" {
		fmt.Fprint(p.w, p.pending)
		p.pending, p.said = "", time.Now()
	}
}

func (p *progress) step(s seek.Step) {
	if s.Confirming > 0 {
		p.tell("%s, unit %d answers; further question %d  (%s left at most)", s.Way, s.Unit, s.Confirming, roundly(s.Left))
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
	p.lock.Lock()
	defer p.lock.Unlock()
	if p.shown {
		fmt.Fprint(p.w, "\r\x1b[K")
		p.shown = false
	}
	p.pending = ""
	if p.soon != nil {
		p.soon.Stop()
	}
}
