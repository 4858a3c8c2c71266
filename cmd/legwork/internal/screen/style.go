package screen

import (
	"fmt"
	"math"
	"strings"
	"time"

	"github.com/charmbracelet/x/ansi"
)

// Style says what the screen can show. The zero value is Unicode
// without colour, 80 columns wide.
type Style struct {
	ASCII  bool // nothing beyond ASCII
	Words  bool // for a screen reader: no pictures, no columns, no colour; ASCII alone
	Colour bool
	Width  int // columns; 0 is 80
}

func (s Style) width() int {
	if s.Width <= 0 {
		return 80
	}
	return max(40, s.Width)
}

// paint sets text in a colour of the terminal's own palette, where it may.
func (s Style) paint(code, text string) string {
	if !s.Colour || s.Words {
		return text
	}
	return "\x1b[" + code + "m" + text + "\x1b[0m"
}

// The terminal's own colours (ECMA-48, 8.3.117).
const (
	bold   = "1"
	red    = "31"
	green  = "32"
	yellow = "33"
)

// plain replaces what ASCII can't show.
func (s Style) plain(text string) string {
	if s.Words {
		return inWords(text)
	}
	if !s.ASCII {
		return text
	}
	return strings.NewReplacer(" °", " deg", "°", " deg", "–", "-", "±", "+-", "…", "...", "‘", "'", "’",
		"'").Replace(text)
}

const noBreakHyphen = "\u2011"

// wrap breaks text into lines that fit after an indent.
func (s Style) wrap(text string, indent int) []string {
	whole := strings.ReplaceAll(s.plain(text), "-", noBreakHyphen) // a flag stays in one piece
	return strings.Split(strings.ReplaceAll(ansi.Wordwrap(whole, s.width()-indent, ""), noBreakHyphen, "-"), "\n")
}

// Fold breaks text between words for a terminal, which would break it anywhere; what
// goes elsewhere stays on its line.
func (s Style) Fold(text string) string {
	if s.Width <= 0 {
		return text
	}
	return strings.Join(s.wrap(text, 0), "\n")
}

// foldLines breaks each line that is wider than a terminal between words, its further
// lines two columns in.
func foldLines(text string, columns int) string {
	lines := strings.Split(text, "\n")
	for i, line := range lines {
		if ansi.StringWidth(line) <= columns {
			continue
		}
		bare := strings.TrimLeft(line, " ")
		in := line[:len(line)-len(bare)]
		lines[i] = in + strings.Join(Style{Width: columns}.wrap(bare, len(in)+2), "\n"+in+"  ")
	}
	return strings.Join(lines, "\n")
}

// unknown is what is written for a quantity that isn't known.
const unknown = "–"

// Fixed writes a number with a few decimals, or that it isn't known.
func Fixed(x float64, known bool, decimals int) string {
	if !known {
		return unknown
	}
	s := fmt.Sprintf("%.*f", decimals, x)
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-")
	}
	return s
}

// Figures writes a number with about four figures, or that it isn't known.
func Figures(x float64, known bool) string {
	size := math.Abs(x)
	switch {
	case size >= 1000:
		return Fixed(x, known, 0)
	case size >= 100:
		return Fixed(x, known, 1)
	case size >= 10:
		return Fixed(x, known, 2)
	}
	return Fixed(x, known, 3)
}

// leastShown is what is written as 0: the rest of a sum of floats, and no energy, ratio or price. Our choice.
const leastShown = 1e-9

// Digits writes a number with so many significant digits.
func Digits(x float64, digits int) string {
	if math.Abs(x) < leastShown {
		return "0"
	}
	return fmt.Sprintf("%.*g", digits, x)
}

// Elapsed writes a time between two reads in the unit that suits it.
func Elapsed(d time.Duration) string {
	switch {
	case d < time.Minute:
		return Digits(d.Seconds(), 2) + " s"
	case d < time.Hour:
		return Digits(d.Minutes(), 3) + " min"
	}
	return Digits(d.Hours(), 4) + " h"
}

// row writes cells right-aligned in columns of some widths, but a negative
// width aligns left.
func (s Style) row(cells []string, widths []int) string {
	var b strings.Builder
	for i, c := range cells {
		c = s.plain(c)
		pad := strings.Repeat(" ", max(0, max(widths[i], -widths[i])-ansi.StringWidth(c)))
		if widths[i] < 0 {
			b.WriteString("  " + c + pad)
		} else {
			b.WriteString("  " + pad + c)
		}
	}
	return strings.TrimRight(b.String(), " ")
}
