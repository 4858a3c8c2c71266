package watch

import (
	"legwork/cmd/legwork/internal/sketch"
	"legwork/diagnose"
)

// bothHigh is how many rows phasors need below a sketch.
const bothHigh = 13

// picture is the sketch of what is likeliest, or the phasors: both where there is room, else the sketch of a fault and
// the phasors of anything else. The key v shows the other one.
func (m *Model) picture(wide, high int) []string {
	drawn := m.sketch(wide, high)
	if len(drawn) == 0 {
		return m.phasors(wide, high)
	}
	if left := high - len(drawn) - 1; left >= bothHigh {
		return append(append(drawn, ""), m.phasors(wide, left)...)
	}
	if (m.s.result.Verdict == diagnose.Fault) != m.other {
		return drawn
	}
	return m.phasors(wide, high)
}

// sketch draws where the leads and CTs are; and where they should be, if there is room for both.
func (m *Model) sketch(wide, high int) []string {
	all := sketch.Pictures(&m.s.result)
	for ; len(all) > 0; all = all[:len(all)-1] {
		if lines := sketch.Text(all, wide, m.style.ASCII); len(lines) <= high {
			return lines
		}
	}
	return nil
}
