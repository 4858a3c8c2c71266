package screen

import (
	"strings"

	"github.com/charmbracelet/x/ansi"

	"legwork/diagnose"
)

// Parts of the screens for a view that lays them out itself.

// Bold is text that stands out, where the terminal can show it.
func (s Style) Bold(text string) string { return s.paint(bold, text) }

// Word is a verdict's word, in its colour where that may be.
func (s Style) Word(v diagnose.Verdict) string {
	word := wordOf(v)
	return s.paint(bold+";"+word.colour, word.text)
}

// Warn is text about a danger.
func (s Style) Warn(text string) string { return s.paint(bold+";"+yellow, text) }

// Plain replaces what ASCII can't show, where the style asks for that.
func (s Style) Plain(text string) string { return s.plain(text) }

// Wrap breaks text into lines of at most width columns.
func (s Style) Wrap(text string, width int) []string {
	return strings.Split(ansi.Wrap(s.plain(text), max(1, width), " "), "\n")
}

// Paragraph breaks text into lines of the screen's width.
func (s Style) Paragraph(text string) []string { return s.wrap(text, 0) }

// StateWords says a channel's state.
func StateWords(r *diagnose.Result, c diagnose.ChannelJudged) string {
	if MissesLegs(r, c) {
		return "on the neutral"
	}
	return stateWords[c.State]
}

// MissesLegs reports a channel whose CT sits on the neutral, and on no leg.
func MissesLegs(r *diagnose.Result, c diagnose.ChannelJudged) bool {
	return (c.State == diagnose.StateCrossed || c.State == diagnose.StateReversedCrossed) && r.OnNeutral(c.Channel)
}
