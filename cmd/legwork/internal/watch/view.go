package watch

import (
	"fmt"
	"strings"
	"time"

	"github.com/charmbracelet/x/ansi"

	"legwork/diagnose"
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

// verdict is the first thing to be seen: the word, the probability, the sentence.
func (m *Model) verdict(most int) []string {
	if m.s.n == 0 {
		text := "Waiting for the first reading of " + m.s.o.Meter
		if !m.s.lost.IsZero() {
			text = "NO ANSWER  " + m.s.why
		}
		return m.clip(m.style.Wrap(text, m.wide), most)
	}
	r := m.s.result
	word := strings.ToUpper(string(r.Verdict))
	indent := len(word) + 2
	lines := m.clip(m.style.Wrap(strings.TrimPrefix(r.Summary, "Undecided: "), m.wide-indent), most)
	for i := range lines {
		if i == 0 {
			lines[i] = m.style.Word(r.Verdict) + "  " + m.style.Bold(lines[i])
		} else {
			lines[i] = strings.Repeat(" ", indent) + m.style.Bold(lines[i])
		}
	}
	return lines
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

// status is what the verdict rests on: the link, the steps, how it grew.
func (m *Model) status(now time.Time) string {
	s := m.s
	var parts []string
	switch {
	case !s.lost.IsZero():
		parts = append(parts, m.style.Warn(fmt.Sprintf("NO ANSWER since %s, for %s", s.lost.Format(time.TimeOnly), Span(now.Sub(s.lost)))))
	case !m.paused.IsZero():
		parts = append(parts, m.style.Warn("PAUSED since "+m.paused.Format(time.TimeOnly)))
	case s.ended:
		parts = append(parts, "end of the capture")
	}
	if s.n > 0 {
		parts = append(parts, s.last.At.Format(time.TimeOnly))
		parts = append(parts, m.grownWords())
		if s.rival != nil {
			parts = append(parts, "new wiring? looking")
		}
		if m.wide < twoWide {
			return ansi.Truncate(strings.Join(parts, "  "), m.wide, "")
		}
		service := s.result.Service.Name
		if s.result.Service.Inferred {
			service += " taken from the voltages"
		}
		parts = append(parts, service)
	}
	if s.n > 0 {
		parts = append(parts, s.o.Meter)
	}
	return ansi.Truncate(strings.Join(parts, "  "), m.wide, "")
}

// grownWords is how many load steps were used and how the probability went.
func (m *Model) grownWords() string {
	s := m.s
	text := fmt.Sprintf("%d load steps used", s.result.Steps)
	if s.result.Steps == 1 {
		text = "1 load step used"
	}
	if m.wide < twoWide {
		text = strings.TrimSuffix(strings.Replace(text, "load ", "", 1), " used")
	}
	if len(s.seen) > 0 {
		text += fmt.Sprintf(", %d told", len(s.seen))
	}
	grown := growth(s.grown)
	if most := 4; len(grown) > most {
		grown = grown[len(grown)-most:]
	}
	if m.wide < twoWide && len(grown) > 2 {
		grown = []string{grown[0], grown[len(grown)-1]}
	}
	if len(grown) < 2 {
		return text
	}
	return text + ": " + strings.Join(grown, " > ") + " %"
}

// growth is the probabilities as they are shown, without those that look alike.
func growth(all []float64) []string {
	var list []string
	for _, p := range all {
		if text := percent(p); len(list) == 0 || list[len(list)-1] != text {
			list = append(list, text)
		}
	}
	return list
}

// percent writes a probability without making a certainty of it.
func percent(p float64) string {
	switch {
	case p >= 0.9995:
		return "99.9+"
	case p >= 0.99:
		return fmt.Sprintf("%.1f", 100*p)
	}
	return fmt.Sprintf("%.0f", 100*p)
}

// foot is the prompt that is open, or the keys.
func (m *Model) foot(now time.Time) []string {
	var lines []string
	if m.hint != "" {
		most := 3
		if m.high < twoHigh {
			most = 2
		}
		for _, l := range m.clip(m.style.Wrap("! "+m.hint, m.wide), most) {
			lines = append(lines, m.style.Warn(l))
		}
	}
	switch m.pane {
	case typingPane:
		return append(lines, "a test showed: "+m.typed+"_", m.fit("enter tell  tab examples  esc leave", "enter  tab  esc"))
	case legPane:
		return append(lines, m.fit("Load step: on which leg? Press "+m.legKeys()+"   esc leave", "on leg "+m.legKeys()+"?  esc"))
	}
	pause := "p pause"
	if !m.paused.IsZero() {
		pause = "p go on"
	}
	if m.s.guide != nil {
		return append(lines, m.fit("esc leave the load step   q quit  "+pause+"  t test result  m moves  ? help", "esc leave  q  "+pause+"  t  m  ?"))
	}
	return append(lines, m.fit("q quit  "+pause+"  s load step  t test result  m moves  n new wiring  ? help", "q quit  p  s step  t test  m moves  ?"))
}

// fit is the long form where it fits.
func (m *Model) fit(long, short string) string {
	if ansi.StringWidth(long) <= m.wide {
		return long
	}
	return short
}

// legKeys lists the legs of the service.
func (m *Model) legKeys() string {
	var keys []string
	for leg := 1; leg <= 3; leg++ {
		if CheckLeg(m.s.result.Service.Name, leg) == nil {
			keys = append(keys, fmt.Sprint(leg))
		}
	}
	return strings.Join(keys, ", ")
}

// The short forms of the cautions that stand before moves; the long ones stand
// with the moves, on the key m.
const (
	cautionsShort   = "Qualified people only; all locked out and proved dead. Never open a CT's secondary under load. All cautions: m"
	cautionsNarrow  = "Dead and proved first. Cautions: m"
	cautionsNarrows = 48 // columns, below which there is only room for the narrow one
)

func (m *Model) cautionsAlways() string {
	if m.wide < cautionsNarrows {
		return cautionsNarrow
	}
	return cautionsShort
}

// job is something to do now.
type job struct {
	head  string
	steps []string
}

// nextWords says the next things to do, cautions first. While a danger shows,
// nothing that calls for a load.
func (m *Model) nextWords() (cautions []string, jobs []job) {
	r := m.s.result
	cautions = append(cautions, m.s.urgent...)
	if !m.s.lost.IsZero() {
		return cautions, []job{{"No answer", []string{m.s.why}}}
	}
	if r.Verdict == diagnose.Agrees && len(cautions) == 0 {
		if r.Steps > 0 || len(m.s.seen) > 0 {
			return nil, []job{{"Nothing to move", []string{"A phase test shows what the meter can't know"}}}
		}
		return nil, []job{{"Nothing to move", []string{"A load step on each leg would confirm it: s"}}}
	}
	test := len(r.NextTests) > 0 && (r.Verdict != diagnose.Fault || r.NextTests[0].GainBits >= worthAsking)
	if test && testTouches(r.NextTests[0]) || r.Verdict == diagnose.Fault {
		cautions = append(cautions, m.cautionsAlways())
	}
	if test {
		jobs = append(jobs, job{m.testHead(), []string{r.NextTests[0].Ask}})
	}
	if r.Verdict == diagnose.Fault && len(r.Explanations) > 0 && len(r.Explanations[0].Moves) > 0 {
		jobs = append(jobs, job{"Move (the whole of it: m)", r.Explanations[0].Moves[0].Steps})
	}
	if len(jobs) == 0 && len(m.s.urgent) == 0 && m.unloaded() {
		jobs = append(jobs, job{"More load", []string{fmt.Sprintf("Put more than %g A on every leg", m.s.minCurrent())}})
	}
	return cautions, jobs
}

// worthAsking is what a test must tell, in bits, to come before a move that is
// decided: one that a person has just made leaves their own error, 0.14 bit.
const worthAsking = 0.3

func (m *Model) testHead() string {
	if m.s.result.Verdict == diagnose.Fault {
		return "Test before you move"
	}
	return "Next test"
}

// testTouches reports a test that brings hands near live parts.
func testTouches(t diagnose.NextTest) bool { return t.Test != "load-step" && t.Test != "bank-off" }

func (m *Model) unloaded() bool {
	for _, c := range m.s.result.Channels {
		if c.State == diagnose.StateUnloaded {
			return true
		}
	}
	return false
}
