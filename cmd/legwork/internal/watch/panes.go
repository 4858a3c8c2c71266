package watch

import (
	"bytes"
	"slices"
	"strings"

	"legwork/cmd/legwork/internal/screen"
	"legwork/diagnose"
)

// open shows a pane of text.
func (m *Model) open(p pane) {
	m.pane, m.offset = p, 0
	m.reopen()
}

// reopen sets a pane's text to the width there is.
func (m *Model) reopen() {
	switch m.pane {
	case helpPane:
		m.lines = m.helpLines()
	case movesPane:
		m.lines = m.movesLines()
	}
	m.offset = max(0, min(m.offset, len(m.lines)-max(1, m.high-2)))
}

// movesLines is the whole verdict as `legwork diagnose` prints it: cautions,
// then moves, then what is left open.
func (m *Model) movesLines() []string {
	if m.s.n == 0 {
		return []string{"No reading yet"}
	}
	style := m.style
	style.Width = min(m.wide, 100)
	r := m.s.result
	for i := len(m.s.urgent) - 1; i >= 0; i-- { // what there is now comes before what the case says
		if c := m.s.urgent[i]; !slices.Contains(r.Cautions, c) {
			r.Cautions = append([]string{c}, r.Cautions...)
		}
	}
	var b bytes.Buffer
	_ = screen.Verdict(&b, r, style) // a buffer takes everything
	return strings.Split(strings.TrimRight(b.String(), "\n"), "\n")
}

// keyHelp says each key in words.
var keyHelp = [...][2]string{
	{"s", "load step: switch a load on, and the screen says which channel took it"},
	{"t", "enter a test result, in one of the forms below; Tab steps through them"},
	{"m", "moves: cautions, what to move, and what to expect then"},
	{"v", "the other picture: the sketch of the wiring, or the phasors"},
	{"n", "note what was moved, and judge anew"},
	{"p", "pause: no requests to the meter; p again resumes"},
	{"q", "quit"},
}

func (m *Model) helpLines() []string {
	var b []string
	add := func(text string, indent int) {
		for i, l := range m.style.Wrap(text, max(10, m.wide-indent)) {
			if i > 0 {
				l = strings.Repeat(" ", indent) + l
			}
			b = append(b, l)
		}
	}
	b = append(b, m.style.Bold("Keys"))
	for _, k := range keyHelp {
		add("  "+k[0]+"  "+k[1], 5)
	}
	b = append(b, "", m.style.Bold("Test results"))
	for _, e := range diagnose.FindingExamples() {
		add("  "+e, 4)
	}
	b = append(b, "", m.style.Bold("The pictures"))
	add("  The sketch: each conductor from supply to load, each lead down to its input at the meter: V1 V2 V3 voltages, I1 I2 I3 currents. A CT is a ring with its arrow. A word below an input says what to do with it.", 2)
	add("  The phasors: V1 V2 V3 are long lines, I1 I2 I3 are dotted. A current that lags is clockwise of its voltage.", 2)
	b = append(b, "", m.style.Bold("The verdict"))
	add("  The percentage is how probable the first explanation is. Every load that switches on or off is evidence; one that does both counts once.", 2)
	add("  Where readings plainly show changed wiring, the judgement starts over by itself. See `legwork help seen`.", 2)
	return b
}
