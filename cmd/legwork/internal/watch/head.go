package watch

import (
	"fmt"
	"strings"
	"time"

	"github.com/charmbracelet/x/ansi"

	"legwork/cmd/legwork/internal/screen"
	"legwork/diagnose/loadstep"
)

// verdict is the first thing to be seen: the word, the probability, the sentence.
func (m *Model) verdict(most int) []string {
	if m.s.n == 0 {
		text := "Waiting for the first reading of " + screen.OneLine(m.s.o.Meter)
		if !m.s.lost.IsZero() {
			text = "NO ANSWER  " + m.s.why
		}
		return m.clip(m.style.Wrap(text, m.wide), most)
	}
	r := m.s.result
	word := strings.ToUpper(string(r.Verdict))
	indent := len(word) + 2
	lines := m.clip(m.style.Wrap(r.Sentence(), m.wide-indent), most)
	for i := range lines {
		if i == 0 {
			lines[i] = m.style.Word(r.Verdict) + "  " + m.style.Bold(lines[i])
		} else {
			lines[i] = strings.Repeat(" ", indent) + m.style.Bold(lines[i])
		}
	}
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
		parts = append(parts, m.times())
		parts = append(parts, m.grownWords())
		if s.rival != nil {
			parts = append(parts, "new wiring? looking")
		}
		if m.wide < twoWide {
			return ansi.Truncate(strings.Join(parts, "  "), m.wide, "")
		}
		service := s.result.Service.Name
		if s.result.Service.Inferred {
			service += " inferred"
		}
		parts = append(parts, service)
	}
	if s.n > 0 {
		parts = append(parts, screen.OneLine(s.o.Meter))
	}
	return ansi.Truncate(strings.Join(parts, "  "), m.wide, "")
}

// times is when the last reading was, and where the case began anew, since when the
// verdict is.
func (m *Model) times() string {
	s := m.s
	last := s.last.At.Format(time.TimeOnly)
	if s.since.Equal(s.first) {
		return last
	}
	if m.wide < twoWide {
		return s.since.Format(time.TimeOnly) + "-" + last
	}
	return last + "  judged from " + s.since.Format(time.TimeOnly)
}

// grownWords is how many load steps were used and how the probability went.
func (m *Model) grownWords() string {
	s := m.s
	text := screen.Count(s.result.Steps, "load step", "load steps") + " used"
	if m.wide < twoWide {
		text = screen.Count(s.result.Steps, "step", "steps")
	}
	if len(s.findings) > 0 {
		text += ", " + screen.Count(len(s.findings), "test", "tests")
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
		return append(lines, "test result: "+m.typed+"_", m.fit("enter note  tab examples  esc leave", "enter  tab  esc"))
	case movedPane:
		return append(lines, "what was moved: "+m.typed+"_", m.fit("enter note it, and judge anew (nothing typed: the wiring was changed)  esc leave",
			"enter  esc"))
	case legPane:
		return append(lines, m.fit("Load step: on which leg? Press "+m.legKeys()+"   esc leave", "on leg "+m.legKeys()+"?  esc"))
	}
	pause := "p pause"
	if !m.paused.IsZero() {
		pause = "p resume"
	}
	if m.s.led != nil {
		return append(lines, m.fit("esc leave the load step   q quit  "+pause+"  t test result  m moves  ? help", "esc leave  q  "+pause+"  t  m  ?"))
	}
	return append(lines, m.fit("q quit  "+pause+"  s load step  t test result  m moves  n new wiring  ? help", "q quit  p  s step  t test  m moves  ?"))
}

// legKeys lists the legs of the service.
func (m *Model) legKeys() string {
	var keys []string
	for leg := 1; leg <= 3; leg++ {
		if loadstep.CheckLeg(m.s.result.Service.Name, leg) == nil {
			keys = append(keys, fmt.Sprint(leg))
		}
	}
	return strings.Join(keys, ", ")
}
