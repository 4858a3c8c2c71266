package watch

import (
	"strings"
	"time"

	tea "charm.land/bubbletea/v2"

	"legwork/diagnose"
	"legwork/diagnose/loadstep"
)

// stepWithin is how long a led load step waits.
const stepWithin = 60 * time.Second

// mostTyped is the length of a sentence.
const mostTyped = 80

func limited(text string) string {
	text = strings.Join(strings.Fields(strings.Map(printable, text)), " ")
	return text[:min(len(text), mostTyped)]
}

func printable(r rune) rune {
	if r < ' ' || r > '~' {
		return ' '
	}
	return r
}

func quits(k tea.KeyPressMsg) bool { s := k.String(); return s == "q" || s == "ctrl+c" }

// key acts on a key; the panes have their own.
func (m *Model) key(k tea.KeyPressMsg) tea.Cmd {
	name := k.String()
	if name == "ctrl+c" {
		m.pane = noPane
		return tea.Quit
	}
	switch m.pane {
	case typingPane, movedPane:
		return m.typingKey(k)
	case legPane:
		return m.legKey(name)
	case helpPane, movesPane:
		return m.paneKey(name)
	}
	switch name {
	case "q":
		return tea.Quit
	case "p", "space":
		return m.pause()
	case "s":
		m.openLeg()
	case "t":
		m.pane, m.typed, m.hint = typingPane, "", ""
	case "m":
		m.open(movesPane)
	case "v":
		m.other = !m.other
	case "?", "h":
		m.open(helpPane)
	case "y":
		m.s.Answer(true, m.s.o.Now())
	case "n": // the answer to a question, where there is one; else what was moved
		if m.s.asking() {
			m.s.Answer(false, m.s.o.Now())
			return nil
		}
		m.openMoved()
	case "esc":
		m.s.Leave()
		m.hint = ""
	}
	return nil
}

// pause stops asking the meter, or goes on.
func (m *Model) pause() tea.Cmd {
	now := m.s.o.Now()
	if m.paused.IsZero() {
		m.paused = now
		m.s.event(now, "Paused: the meter isn't asked", false)
		return nil
	}
	m.s.event(now, "Resumed after "+Span(now.Sub(m.paused)), false)
	m.paused = time.Time{}
	return m.ask
}

// openMoved asks what was moved, once there is a reading to judge anew from.
func (m *Model) openMoved() {
	m.hint = ""
	if m.s.n > 0 {
		m.pane, m.typed = movedPane, ""
	}
}

// openLeg asks on which leg the load step is to be, or says why there can be none.
func (m *Model) openLeg() {
	m.hint = ""
	if urgent := m.s.urgent; len(urgent) > 0 {
		m.hint = loadstep.Danger{Caution: urgent[0]}.Error()
		return
	}
	m.pane = legPane
}

func (m *Model) legKey(name string) tea.Cmd {
	switch name {
	case "1", "2", "3":
		m.pane = noPane
		if err := m.s.Lead(int(name[0]-'0'), stepWithin); err != nil {
			m.hint = err.Error()
		}
	case "esc", "q":
		m.pane = noPane
	}
	return nil
}

func (m *Model) typingKey(k tea.KeyPressMsg) tea.Cmd {
	switch name := k.String(); name {
	case "esc":
		m.pane, m.hint = noPane, ""
	case "enter":
		if m.pane == movedPane {
			m.s.Anew(m.typed)
			m.pane = noPane
			return nil
		}
		if strings.TrimSpace(m.typed) == "" {
			m.pane = noPane
			return nil
		}
		if err := m.s.Tell(m.s.o.Now(), m.typed); err != nil {
			m.hint = err.Error()
			return nil
		}
		m.pane, m.hint = noPane, ""
	case "backspace":
		m.typed = m.typed[:max(0, len(m.typed)-1)]
	case "ctrl+u":
		m.typed = ""
	case "tab":
		if m.pane == typingPane {
			m.typed = nextExample(m.typed)
		}
	default:
		for _, r := range k.Text {
			if r >= ' ' && r <= '~' && len(m.typed) < mostTyped {
				m.typed += string(r)
			}
		}
	}
	return nil
}

// nextExample is the form after the one that is typed, so that Tab goes round them.
func nextExample(typed string) string {
	all := diagnose.FindingExamples()
	for i, e := range all {
		if e == typed {
			return all[(i+1)%len(all)]
		}
	}
	for _, e := range all {
		if typed != "" && strings.HasPrefix(e, typed) {
			return e
		}
	}
	return all[0]
}

// paneKey scrolls a pane of text, or closes it.
func (m *Model) paneKey(name string) tea.Cmd {
	page := max(1, m.high-2)
	switch name {
	case "down", "j":
		m.offset++
	case "up", "k":
		m.offset--
	case "pgdown", "space":
		m.offset += page
	case "pgup":
		m.offset -= page
	case "home":
		m.offset = 0
	default:
		m.pane = noPane
	}
	m.offset = max(0, min(m.offset, len(m.lines)-page))
	return nil
}
