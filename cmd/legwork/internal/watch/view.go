package watch

import (
	"fmt"
	"strings"
	"time"

	"github.com/charmbracelet/x/ansi"
)

// The least that can be drawn, and from where on there are two columns.
const (
	leastWide, leastHigh = 30, 8
	twoWide, twoHigh     = 72, 18
)

// screen draws everything.
func (m *Model) screen(now time.Time) string {
	var lines []string
	switch {
	case m.wide < leastWide || m.high < leastHigh:
		lines = m.tooSmall()
	case m.pane == helpPane || m.pane == movesPane:
		lines = m.paneLines()
	case m.wide < twoWide || m.high < twoHigh:
		lines = m.narrow(now)
	default:
		lines = m.two(now)
	}
	lines = lines[:min(len(lines), max(0, m.high))]
	for i := range lines {
		lines[i] = ansi.Truncate(strings.TrimRight(lines[i], " "), max(0, m.wide), "")
	}
	return strings.Join(lines, "\n")
}

func (m *Model) tooSmall() []string {
	text := fmt.Sprintf("too small: %dx%d at least", leastWide, leastHigh)
	if m.s.n > 0 {
		text = strings.ToUpper(string(m.s.result.Verdict)) + ", " + text
	}
	return m.style.Wrap(text, max(1, m.wide))
}

// paneLines is an open pane of text, with how to leave it.
func (m *Model) paneLines() []string {
	page := max(1, m.high-2)
	end := min(len(m.lines), m.offset+page)
	lines := append([]string{}, m.lines[m.offset:end]...)
	for len(lines) < m.high-1 {
		lines = append(lines, "")
	}
	foot := "any other key: back"
	if len(m.lines) > page {
		foot = fmt.Sprintf("lines %d to %d of %d   up, down, space: scroll   %s", m.offset+1, end, len(m.lines), foot)
	}
	return append(lines, foot)
}

// narrow is one column, for a small window or a phone: verdict, channels, next.
func (m *Model) narrow(now time.Time) []string {
	lines := m.verdict(2)
	lines = append(lines, m.status(now))
	lines = append(lines, m.channelsNarrow()...)
	foot := m.foot(now)
	room := m.high - len(lines) - len(foot)
	next := m.next(m.wide, room, now)
	lines = append(lines, next...)
	lines = append(lines, m.eventLines(m.wide, room-len(next))...)
	return m.footed(lines, foot)
}

// two is the view in two columns.
func (m *Model) two(now time.Time) []string {
	lines := m.verdict(2)
	lines = append(lines, m.status(now), m.rule())
	foot := m.foot(now)
	rows := m.high - len(lines) - len(foot)
	left := min(max(50, m.wide*45/100), 90)
	right := m.wide - left - 1
	l := m.leftColumn(left, rows, now)
	r := m.rightColumn(right, rows)
	for i := range rows {
		lines = append(lines, beside(at(l, i), at(r, i), left))
	}
	return m.footed(lines, foot)
}

func at(lines []string, i int) string {
	if i < len(lines) {
		return lines[i]
	}
	return ""
}

// beside puts two pieces into one line.
func beside(left, right string, wide int) string {
	left = ansi.Truncate(left, wide, "")
	return left + strings.Repeat(" ", wide-ansi.StringWidth(left)+1) + right
}

func (m *Model) rule() string {
	line := "─"
	if m.style.ASCII {
		line = "-"
	}
	return strings.Repeat(line, m.wide)
}

// footed puts the last lines at the bottom.
func (m *Model) footed(lines, foot []string) []string {
	room := m.high - len(foot)
	lines = lines[:min(len(lines), room)]
	for len(lines) < room {
		lines = append(lines, "")
	}
	return append(lines, foot...)
}

// clip keeps so many lines, and marks that there was more.
func (m *Model) clip(lines []string, most int) []string {
	if len(lines) <= most {
		return lines
	}
	if most <= 0 {
		return nil
	}
	lines = append([]string{}, lines[:most]...)
	mark := m.style.Plain(" …")
	last := strings.TrimRight(lines[most-1], " ")
	for ansi.StringWidth(last)+len([]rune(mark)) > ansi.StringWidth(lines[most-1]) {
		cut := strings.LastIndexByte(last, ' ')
		if cut <= 0 {
			break
		}
		last = strings.TrimRight(last[:cut], " ,;:.")
	}
	lines[most-1] = last + mark
	return lines
}

// fit is the long form where it fits.
func (m *Model) fit(long, short string) string {
	if ansi.StringWidth(long) <= m.wide {
		return long
	}
	return short
}
