package watch

import (
	"context"
	"errors"
	"io"
	"time"

	tea "charm.land/bubbletea/v2"

	"legwork/cmd/legwork/internal/screen"
	"legwork/diagnose/loadstep"
	"legwork/probe/reading"
)

// Feed is where a screen's readings come from.
type Feed struct {
	// Next gives the next reading; io.EOF ends a capture.
	Next     func(context.Context) (reading.Reading, error)
	Interval time.Duration
	// Keep, where it isn't nil, stores a reading.
	Keep func(reading.Reading) error
}

// Model is the screen. Update and View do no I/O: readings come in messages.
type Model struct {
	s     *Session
	feed  Feed
	style screen.Style
	ctx   context.Context

	wide, high int
	content    string    // drawn last
	drawn      time.Time // when
	dirty      bool      // something changed since
	waking     bool      // a wake is on its way
	paused     time.Time // since when no readings are asked for
	keepErr    error     // why nothing is kept any more
	failed     error     // why it can't go on

	pane   pane
	lines  []string // of an open pane
	offset int
	typed  string // of a test's result, or of a move
	hint   string // why it was refused, or what may be typed
	other  bool   // the picture that isn't shown by itself: phasors of a fault, the sketch of anything else
}

// pane is what is open over or beside the view.
type pane uint8

const (
	noPane pane = iota
	helpPane
	movesPane
	typingPane
	movedPane
	legPane
)

// leastRedraw is the time between two drawings: at most 10 a second.
const leastRedraw = 100 * time.Millisecond

// NewModel makes the screen of a session.
func NewModel(ctx context.Context, s *Session, f Feed, style screen.Style) *Model {
	return &Model{s: s, feed: f, style: style, ctx: ctx, wide: 80, high: 24, dirty: true}
}

// Session is what the screen shows.
func (m *Model) Session() *Session { return m.s }

// KeepErr says why readings weren't kept, if they weren't.
func (m *Model) KeepErr() error { return m.keepErr }

// Failed says why the screen ended by itself, if it did.
func (m *Model) Failed() error { return m.failed }

type (
	// tookMsg is a reading, or why there was none, and when it was asked for.
	tookMsg struct {
		r       reading.Reading
		err     error
		keepErr error
		asked   time.Time
	}
	askMsg  struct{} // the next reading is due
	wakeMsg struct{} // it is time to draw, or to look at the clock
)

// Init asks for the first reading.
func (m *Model) Init() tea.Cmd { return m.ask }

// ask takes a reading; it runs beside Update.
func (m *Model) ask() tea.Msg {
	asked := m.s.o.Now()
	r, err := m.feed.Next(m.ctx)
	msg := tookMsg{r: r, err: err, asked: asked}
	if err == nil && m.feed.Keep != nil {
		msg.keepErr = m.feed.Keep(r)
	}
	return msg
}

// Update takes a message. It draws when that is due, so that View is free.
func (m *Model) Update(msg tea.Msg) (tea.Model, tea.Cmd) {
	var cmd tea.Cmd
	switch msg := msg.(type) {
	case tookMsg:
		cmd = m.took(msg)
	case askMsg:
		if m.paused.IsZero() {
			cmd = m.ask
		}
	case wakeMsg:
		m.waking = false
		m.dirty = m.dirty || m.ticking()
	case tea.WindowSizeMsg:
		m.wide, m.high, m.dirty, m.drawn = msg.Width, msg.Height, true, time.Time{}
		m.reopen()
	case tea.PasteMsg:
		if m.pane == typingPane || m.pane == movedPane {
			m.typed, m.dirty = limited(m.typed+msg.Content), true
		}
	case tea.KeyPressMsg:
		m.dirty, m.drawn = true, time.Time{}
		if cmd = m.key(msg); cmd != nil && m.pane == noPane && quits(msg) {
			return m, cmd
		}
	}
	return m, tea.Batch(cmd, m.draw())
}

// took folds in what asking gave, and sets the next time.
func (m *Model) took(msg tookMsg) tea.Cmd {
	m.dirty = true
	if msg.keepErr != nil && m.keepErr == nil {
		m.keepErr, m.feed.Keep = msg.keepErr, nil
		m.s.event(m.s.o.Now(), "Not kept from here on: "+msg.keepErr.Error(), true)
	}
	switch {
	case errors.Is(msg.err, io.EOF):
		m.s.End()
		return nil
	case msg.err != nil && m.ctx.Err() != nil:
		return nil
	case msg.err != nil && m.s.o.Counts == nil: // a capture doesn't get better
		m.failed = msg.err
		return tea.Quit
	case msg.err != nil:
		m.s.Lost(m.s.o.Now(), msg.err)
		return m.later(max(leastRetry, m.feed.Interval), askMsg{})
	}
	m.s.Add(msg.r)
	return m.later(m.feed.Interval-m.s.o.Now().Sub(msg.asked), askMsg{})
}

// leastRetry is how long a meter that doesn't answer is left alone.
const leastRetry = time.Second

func (m *Model) later(d time.Duration, msg tea.Msg) tea.Cmd {
	return tea.Tick(max(0, d), func(time.Time) tea.Msg { return msg })
}

// ticking reports that the screen shows a time that goes on by itself.
func (m *Model) ticking() bool {
	l := m.s.led
	return !m.s.lost.IsZero() || l != nil && l.Outcome == loadstep.Waiting
}

// draw draws what changed, or sets a time to.
func (m *Model) draw() tea.Cmd {
	now := m.s.o.Now()
	if !m.dirty {
		return m.wake(time.Second)
	}
	if since := now.Sub(m.drawn); since < leastRedraw && since >= 0 {
		return m.wake(leastRedraw - since)
	}
	if l := m.s.led; l != nil && !m.s.lost.IsZero() {
		l.Tick(now)
	}
	m.s.Judge()
	m.content, m.drawn, m.dirty = m.screen(now), now, false
	return m.wake(time.Second)
}

// wake sets one timer at most; the second's only while a time goes on.
func (m *Model) wake(d time.Duration) tea.Cmd {
	if m.waking || !m.dirty && !m.ticking() {
		return nil
	}
	m.waking = true
	return m.later(d, wakeMsg{})
}

// View is what was drawn last.
func (m *Model) View() tea.View {
	v := tea.NewView(m.content)
	v.AltScreen = true
	v.WindowTitle = "legwork watch " + screen.OneLine(m.s.o.Meter)
	return v
}
