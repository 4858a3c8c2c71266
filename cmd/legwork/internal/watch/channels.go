package watch

import (
	"fmt"
	"math"
	"strings"

	"github.com/charmbracelet/x/ansi"

	"legwork/cmd/legwork/internal/screen"
	"legwork/diagnose"
	"legwork/probe/reading"
)

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
	words string // of the state, in full
	short string
}

func (m *Model) channelsNow() []channel {
	var list []channel
	for k, c := range m.s.last.Channels {
		if k >= len(m.s.result.Channels) {
			break
		}
		judged := m.s.result.Channels[k]
		lag := diagnose.Lag(c)
		if !lag.Known() {
			lag = judged.Angle
		}
		if amps, ok := c.Current.Get(); ok && math.Abs(amps) < m.s.minCurrent() && judged.State != diagnose.StateNoVoltage {
			judged.State = diagnose.StateUnloaded // whatever was known while there was a load
		}
		short := shortStates[judged.State]
		if screen.MissesLegs(&m.s.result, judged) {
			short = "! on the neutral"
		}
		list = append(list, channel{k + 1, c, lag, judged.State, screen.StateWords(&m.s.result, judged), short})
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
		cells := []string{fmt.Sprint(c.number), screen.Plain(c.Voltage, 1), screen.Amount(c.Current, 1),
			screen.Amount(c.Power, 1000)}
		if full {
			cells = append(cells, screen.Amount(c.Reactive, 1000), screen.Plain(c.PowerFactor, 3))
		}
		cells = append(cells, screen.Plain(c.lag, 1))
		state := c.short
		if full {
			state = c.words
			if mark := c.short[:2]; strings.ContainsAny(mark, "!?") {
				state = mark + state
			}
		}
		if c.state != diagnose.StateAgrees {
			state = m.style.Bold(state)
		}
		lines = append(lines, m.cells(cells, widths)+"  "+state)
	}
	return lines
}

func (m *Model) channelsNarrow() []string {
	if m.s.n == 0 {
		return nil
	}
	lines := []string{m.style.Bold(m.cells([]string{"ch", "A", "kW"}, []int{2, 6, 7}) + "  state")}
	for _, c := range m.channelsNow() {
		cells := []string{fmt.Sprint(c.number), screen.Amount(c.Current, 1), screen.Amount(c.Power, 1000)}
		lines = append(lines, m.cells(cells, []int{2, 6, 7})+"  "+c.short)
	}
	return lines
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
	lines := []string{m.loadsHead(wide, cells, least)}
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
		shown := m.cells([]string{screen.Amount(c.Current, 1)}, []int{6})
		lines = append(lines, fmt.Sprintf("%d %s%s %s", c.number, m.bar(amps/least, cells), shown, word))
	}
	return lines
}

// loadsHead says what the bars are: amperes at the ends of their quarters, or in a
// narrow column what the mark is.
func (m *Model) loadsHead(wide, cells int, least float64) string {
	quarter := cells / 4
	if quarter < 6 {
		return ansi.Truncate(m.style.Bold(fmt.Sprintf("Load of channel (| is %g A)", least)), wide, "")
	}
	text := "Load"
	for i := range 3 {
		label := fmt.Sprintf("%g", least*math.Pow10(i))
		text += strings.Repeat(" ", max(1, 2+(i+1)*quarter+min(i, 1)-len(text))) + label
	}
	return ansi.Truncate(m.style.Bold(text+" A"), wide, "")
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
	line := strings.Repeat(full, filled) + strings.Repeat(empty, cells-filled)
	at := min(quarter, filled)*len(full) + max(0, quarter-filled)*len(empty)
	return line[:at] + mark + line[at:]
}
