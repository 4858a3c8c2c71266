package loadstep

import (
	"fmt"
	"strings"
)

// String is the step in a line.
func (s Step) String() string {
	switch {
	case s.Jumped():
		return "Angle jumped: " + s.parts(func(c Change) string { return fmt.Sprintf("by %.0f degrees", c.Turned) })
	case s.On():
		return "Load on: " + s.sizes()
	}
	return "Load off: " + s.sizes()
}

// sizes lists the channels with their changes.
func (s *Step) sizes() string { return s.parts(Change.String) }

func (s *Step) parts(say func(Change) string) string {
	parts := make([]string, len(s.Changes))
	for i, c := range s.Changes {
		parts[i] = fmt.Sprintf("channel %d %s", c.Channel, say(c))
	}
	return strings.Join(parts, ", ")
}

// String is the change in A, and in kW where it is known.
func (c Change) String() string {
	decimals := 1
	if c.Amps < 10 {
		decimals = 2
	}
	text := fmt.Sprintf("%+.*f A", decimals, c.Rise)
	if watts, ok := c.Watts.Get(); ok {
		text += fmt.Sprintf(" (%+.2f kW)", watts/1000)
	}
	return text
}
