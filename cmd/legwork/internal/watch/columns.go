package watch

import (
	"fmt"
	"strings"
	"time"

	"github.com/charmbracelet/x/ansi"

	"legwork/cmd/legwork/internal/screen"
	"legwork/diagnose"
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
	lines := m.picture(wide, min(room, wide/2+1))
	for len(lines) < room {
		lines = append(lines, "")
	}
	return append(lines, below...)
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
	first := fmt.Sprintf("%d requests, slowest %s", c.Requests, milliseconds(c.Slowest))
	var bad []string
	for _, q := range []struct {
		n         uint64
		one, many string
	}{{c.Retries, "retry", "retries"}, {c.LateAnswers, "late answer", "late answers"}, {c.Spoilt(), "spoilt answer", "spoilt answers"},
		{c.Exceptions, "refusal", "refusals"}, {c.Redials, "redial", "redials"}} {
		if q.n > 0 {
			bad = append(bad, screen.Count(int(q.n), q.one, q.many))
		}
	}
	second := "no retries, nothing late"
	if len(bad) > 0 {
		second = strings.Join(bad, ", ")
	}
	if wide >= 60 {
		return []string{m.style.Bold("Link") + "  " + first + ", " + second}
	}
	return append([]string{ansi.Truncate(first, wide, "")}, m.clip(m.style.Wrap(second, wide), 1)...)
}
