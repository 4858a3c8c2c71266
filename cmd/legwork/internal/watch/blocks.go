package watch

import (
	"fmt"
	"math"
	"strings"
	"time"

	"github.com/charmbracelet/x/ansi"

	"legwork/cmd/legwork/internal/screen"
	"legwork/diagnose"
	"legwork/probe/reading"
)

// leftColumn is channels, what is next, events; and the loads where it is high.
func (m *Model) leftColumn(wide, rows int, now time.Time) []string {
	lines := append(m.channels(wide), "")
	if rows >= tall {
		lines = append(append(lines, m.loads(wide)...), "")
	}
	room := rows - len(lines) - leastEvents
	if rows >= tall {
		room = rows - len(lines) - 2*leastEvents
	}
	lines = append(lines, m.next(wide, room, now)...)
	if rows-len(lines) > leastEvents+1 {
		lines = append(lines, "")
	}
	if left := rows - len(lines) - 1; left > 0 {
		lines = append(lines, m.style.Bold("Events, newest first"))
		lines = append(lines, m.eventLines(wide, left)...)
	}
	return lines
}

// tall is from how many rows on there is room to say more; leastEvents is the
// lines that events are left, their head included.
const (
	tall        = 26
	leastEvents = 5
)

// rightColumn is the picture, then the loads or what else it may be, then the link.
func (m *Model) rightColumn(wide, rows int) []string {
	below := m.others(wide, rows)
	if rows < tall {
		below = m.loads(wide)
	}
	below = append(below, m.link(wide)...)
	room := rows - len(below)
	lines := m.phasors(wide, min(room, wide/2+1))
	for len(lines) < room {
		lines = append(lines, "")
	}
	return append(lines, below...)
}

// shortStates are states in few letters.
var shortStates = map[diagnose.State]string{
	diagnose.StateAgrees: "agrees", diagnose.StateReversed: "! CT reversed", diagnose.StateCrossed: "! on another leg",
	diagnose.StateReversedCrossed: "! other leg, rev.", diagnose.StateUnloaded: "? too little A",
	diagnose.StateNoVoltage: "! no voltage", diagnose.StateUnclear: "? not clear",
}

// channel is one channel now, with the state of the last result.
type channel struct {
	number int
	reading.Channel
	lag   reading.Maybe[reading.Angle]
	state diagnose.State
}

func (m *Model) channelsNow() []channel {
	var list []channel
	for k, c := range m.s.last.Channels {
		if k >= len(m.s.result.Channels) {
			break
		}
		judged := m.s.result.Channels[k]
		lag := c.Angle
		if l := levelOf(c); !lag.Known() && l.angle && l.amps > 0 {
			lag = reading.Known(reading.Degrees(-math.Atan2(imag(l.z), real(l.z)) * 180 / math.Pi))
		} else if !lag.Known() {
			lag = judged.Angle
		}
		state := judged.State
		if amps, ok := c.Current.Get(); ok && math.Abs(amps) < m.s.minCurrent() && state != diagnose.StateNoVoltage {
			state = diagnose.StateUnloaded // whatever was known while there was a load
		}
		list = append(list, channel{k + 1, c, lag, state})
	}
	return list
}

// channels is the table; wider it says more.
func (m *Model) channels(wide int) []string {
	if m.s.n == 0 {
		return nil
	}
	full := wide >= 72
	head := []string{"ch", "V", "A", "kW"}
	widths := []int{2, 6, 6, 6}
	if full {
		head, widths = append(head, "kvar", "pf"), append(widths, 7, 6)
	}
	head, widths = append(head, "lag °"), append(widths, 6)
	lines := []string{m.style.Bold(m.cells(head, widths) + "  state")}
	for _, c := range m.channelsNow() {
		cells := []string{fmt.Sprint(c.number), number(c.Voltage, 1, 1), number(c.Current, 1, -1), number(c.Power, 1000, -1)}
		if full {
			cells = append(cells, number(c.Reactive, 1000, -1), number(c.PowerFactor, 1, 3))
		}
		lag, ok := c.lag.Get()
		cells = append(cells, screen.Fixed(float64(lag), ok, 1))
		state := shortStates[c.state]
		if full {
			state = strings.TrimSpace(state[:2*btoi(strings.ContainsAny(state[:1], "!?"))] + screen.StateWords(c.state))
		}
		if c.state != diagnose.StateAgrees {
			state = m.style.Bold(state)
		}
		lines = append(lines, m.cells(cells, widths)+"  "+state)
	}
	return lines
}

func btoi(b bool) int {
	if b {
		return 1
	}
	return 0
}

func (m *Model) channelsNarrow() []string {
	if m.s.n == 0 {
		return nil
	}
	lines := []string{m.style.Bold(m.cells([]string{"ch", "A", "kW"}, []int{2, 6, 7}) + "  state")}
	for _, c := range m.channelsNow() {
		lines = append(lines, m.cells([]string{fmt.Sprint(c.number), number(c.Current, 1, -1), number(c.Power, 1000, -1)}, []int{2, 6, 7})+"  "+shortStates[c.state])
	}
	return lines
}

func number(v reading.Value, by float64, decimals int) string {
	x, ok := v.Get()
	if decimals < 0 {
		return screen.Figures(x/by, ok)
	}
	return screen.Fixed(x/by, ok, decimals)
}

// cells sets text to the right in columns, one space apart.
func (m *Model) cells(cells []string, widths []int) string {
	var b strings.Builder
	for i, c := range cells {
		c = m.style.Plain(c)
		if i > 0 {
			b.WriteByte(' ')
		}
		b.WriteString(strings.Repeat(" ", max(0, widths[i]-ansi.StringWidth(c))) + c)
	}
	return b.String()
}

// loads shows each channel's current against the least that is judged: a bar
// of which every quarter is ten times the one before, the mark at the least.
func (m *Model) loads(wide int) []string {
	least := m.s.minCurrent()
	cells := max(4, min(32, (wide-19)/4*4))
	var lines []string
	for _, c := range m.channelsNow() {
		amps, ok := c.Current.Get()
		amps = math.Abs(amps)
		word := fmt.Sprintf("> %g A", least)
		switch {
		case !ok:
			word = "not known"
		case amps < least:
			word = fmt.Sprintf("! < %g A", least)
		}
		lines = append(lines, fmt.Sprintf("%d %s%s %s", c.number, m.bar(amps/least, cells), m.cells([]string{number(c.Current, 1, -1)}, []int{6}), word))
	}
	return lines
}

func (m *Model) bar(ratio float64, cells int) string {
	full, empty, mark := "█", "·", "|"
	if m.style.ASCII {
		full, empty = "#", "."
	}
	quarter := cells / 4
	filled := 0
	if ratio > 0 {
		filled = int(math.Round(float64(quarter) * (1 + math.Log10(ratio))))
	}
	filled = max(0, min(filled, cells))
	if ratio < 1 {
		filled = min(filled, quarter-1)
	}
	var b strings.Builder
	for i := range cells {
		if i == quarter {
			b.WriteString(mark)
		}
		if i < filled {
			b.WriteString(full)
		} else {
			b.WriteString(empty)
		}
	}
	return b.String()
}

// next is what to do now, in at most so many lines; a led load step goes first.
func (m *Model) next(wide, most int, now time.Time) []string {
	if most <= 0 || m.s.n == 0 {
		return nil
	}
	if g := m.s.guide; g != nil {
		return m.clip(m.guideLines(g, wide, now), most)
	}
	var lines []string
	cautions, jobs := m.nextWords()
	for _, c := range cautions {
		for _, l := range m.hung("! ", c, wide) {
			lines = append(lines, m.style.Warn(l))
		}
	}
	for i, j := range jobs {
		room := most - len(lines) - 1
		if room < 1 || i > 0 && room < 2 {
			break
		}
		lines = append(lines, m.style.Bold(j.head))
		if i < len(jobs)-1 && room > 5 {
			room -= 3
		}
		lines = append(lines, m.stepLines(j.steps, wide, room)...)
	}
	return m.clip(lines, most)
}

// hung wraps text after a mark, further lines under the first.
func (m *Model) hung(mark, text string, wide int) []string {
	lines := m.style.Wrap(text, max(1, wide-len(mark)))
	for i := range lines {
		lines[i] = mark + lines[i]
		mark = strings.Repeat(" ", len(mark))
	}
	return lines
}

// stepLines numbers steps. Where the room is short the first and the last, the
// same in every move, take a line, so that the ones that matter stay whole.
func (m *Model) stepLines(steps []string, wide, most int) []string {
	lines := make([][]string, len(steps))
	total := 0
	for i, s := range steps {
		mark := ""
		if len(steps) > 1 {
			mark = fmt.Sprintf("%d ", i+1)
		}
		lines[i] = m.hung(mark, s, wide)
		total += len(lines[i])
	}
	var all []string
	for i, l := range lines {
		if total > most && len(steps) > 2 && (i == 0 || i == len(steps)-1) {
			l = m.clip(l, 1)
		}
		all = append(all, m.clip(l, most-len(all))...)
	}
	return all
}

// guideLines lead a load step.
func (m *Model) guideLines(g *Guide, wide int, now time.Time) []string {
	lines := []string{m.style.Bold(fmt.Sprintf("Load step, leg %d", g.Leg))}
	add := func(text string, loud bool) {
		for _, l := range m.style.Wrap(text, wide) {
			if loud {
				l = m.style.Bold(l)
			}
			lines = append(lines, l)
		}
	}
	switch {
	case g.Outcome == Waiting && !g.Ready():
		add("Wait: the load must stay for two readings first", false)
	case g.Outcome == Waiting:
		at := now
		if m.s.lost.IsZero() {
			at = m.s.last.At
		}
		add(g.Ask(m.s.result.Service.Name), true)
		add(fmt.Sprintf("By its own switch or breaker, panel closed; %d s", int(g.Left(at).Seconds())), false)
		if g.Note != "" {
			add(g.Note, false)
		}
	default:
		add(g.Says, true)
		if g.Outcome == NothingSeen {
			add("Did the load come on? Then type it with t: "+g.Seen[0], false)
		} else if len(g.Seen) > 0 {
			add("Told: "+strings.Join(g.Seen, "; "), false)
		}
	}
	return lines
}

// eventLines are the latest, the newest first.
func (m *Model) eventLines(wide, most int) []string {
	var lines []string
	for _, e := range m.s.events.last(most) {
		if len(lines) >= most {
			break
		}
		stamp := e.At.Format(time.TimeOnly) + " "
		wrapped := m.style.Wrap(e.Text, max(1, wide-len(stamp)))
		if wide < 80 {
			wrapped = m.clip(wrapped, 2)
		}
		for i, l := range wrapped {
			if len(lines) >= most {
				break
			}
			if e.Loud {
				l = m.style.Bold(l)
			}
			if i > 0 {
				stamp = strings.Repeat(" ", len(stamp))
			}
			lines = append(lines, stamp+l)
		}
	}
	return lines
}

// phasors is the picture, as large as there is room.
func (m *Model) phasors(wide, high int) []string {
	rays, apart := screen.Rays(m.pictured())
	if len(rays) == 0 || high < 5 {
		return nil
	}
	note := 0
	if apart && high > 8 {
		note = 1
	}
	lines := screen.PhasorsIn(rays, wide, high-note, m.style.ASCII)
	if note > 0 {
		lines = append(lines, m.clip(m.style.Wrap("each current against its own voltage", wide), 1)...)
	}
	return lines
}

// pictured is the result with what is read now.
func (m *Model) pictured() diagnose.Result {
	r := m.s.result
	r.Channels = append([]diagnose.ChannelJudged{}, r.Channels...)
	for i, c := range m.channelsNow() {
		if i < len(r.Channels) {
			r.Channels[i].Current, r.Channels[i].Angle, r.Channels[i].VoltageAngle = c.Current, c.lag, c.VoltageAngle
		}
	}
	return r
}

// others are the explanations side by side, where there is room.
func (m *Model) others(wide, rows int) []string {
	all := m.s.result.Explanations
	if rows < 30 || len(all) == 0 {
		return nil
	}
	lines := []string{m.style.Bold("What the readings may mean")}
	for _, x := range all[:min(4, len(all))] {
		text := fmt.Sprintf("%5s %%  %s", percent(x.Probability), m.style.Plain(x.Words))
		lines = append(lines, ansi.Truncate(text, wide, m.style.Plain("…")))
	}
	return append(lines, "")
}

func milliseconds(d time.Duration) string {
	ms := d.Seconds() * 1000
	if ms < 10 {
		return fmt.Sprintf("%.1f ms", ms)
	}
	return fmt.Sprintf("%.0f ms", ms)
}

// link is how well the meter answers.
func (m *Model) link(wide int) []string {
	if m.s.o.Counts == nil {
		return nil
	}
	c := m.s.o.Counts()
	first := fmt.Sprintf("%d asked, slowest %s", c.Requests, milliseconds(c.Slowest))
	var bad []string
	for _, q := range []struct {
		n         uint64
		one, many string
	}{{c.Retries, "retry", "retries"}, {c.LateAnswers, "late answer", "late answers"}, {c.BadAnswers, "bad answer", "bad answers"},
		{c.Exceptions, "refusal", "refusals"}, {c.Redials, "redial", "redials"}} {
		if q.n == 1 {
			bad = append(bad, "1 "+q.one)
		} else if q.n > 1 {
			bad = append(bad, fmt.Sprintf("%d %s", q.n, q.many))
		}
	}
	second := "no retries, nothing late"
	if len(bad) > 0 {
		second = strings.Join(bad, ", ")
	}
	if wide >= 60 {
		return []string{m.style.Bold("Link") + "  " + first + ", " + second}
	}
	return append([]string{ansi.Truncate(m.style.Bold("Link")+" "+first, wide, "")}, m.clip(m.style.Wrap(second, wide), 1)...)
}
