package screen

import (
	"fmt"
	"slices"
	"strings"

	"legwork/cmd/legwork/internal/sketch"
)

// What a screen reader is given: a sentence a row in place of columns, words in
// place of pictures and signs.

// unitHeads are heads of columns that are said after their number.
var unitHeads = []string{"V", "A", "kW", "kvar"}

// toFill is where a person writes on paper; nothing is said of it.
const toFill = "______"

// spoken is a row as words: each cell with the head of its column.
func spoken(heads, cells []string) string {
	var parts []string
	for i, cell := range cells {
		head := ""
		if i < len(heads) {
			head = heads[i]
		}
		if part := said(head, strings.TrimSpace(cell)); part != "" {
			parts = append(parts, part)
		}
	}
	return strings.Join(parts, ", ")
}

func said(head, cell string) string {
	name, angle := strings.CutSuffix(head, " °")
	switch {
	case cell == "", cell == toFill:
		return ""
	case cell == unknown:
		return strings.TrimSpace(name + " unknown")
	case slices.Contains(unitHeads, head):
		return cell + " " + head
	case angle:
		return name + " " + cell + " degrees"
	}
	return strings.TrimSpace(head + " " + cell)
}

// inWords replaces the signs that a reader skips or spells.
func inWords(text string) string {
	return strings.NewReplacer(" °", " degrees", "°", " degrees", " – ", " unknown ", "–", "-", "±", "plus or minus ",
		"…", "...", "‘", "'", "’", "'").Replace(text)
}

// sketchInWords says what the drawings show.
func (s Style) sketchInWords(all []sketch.Titled) []string {
	var lines []string
	for _, p := range all {
		lines = append(lines, p.Title+":")
		for _, words := range sketch.Words(p.Picture) {
			for _, l := range s.wrap(words, 2) {
				lines = append(lines, "  "+l)
			}
		}
	}
	return lines
}

// raysInWords says what the drawing shows.
func (w *writer) raysInWords(rays []Ray, apart bool) {
	from := "Angles, anticlockwise from the voltage of channel 1:"
	if apart {
		from = "Angles, anticlockwise, each current from its own voltage; those between the voltages are unknown:"
	}
	w.line("")
	w.item("", from)
	for _, r := range rays {
		what := "voltage"
		if r.Dotted {
			what = "current"
		}
		if apart && !r.Dotted {
			continue
		}
		degrees := Fixed(r.Degrees, true, 1)
		w.line(fmt.Sprintf("  %s %d at %s degrees", what, r.Channel, degrees))
	}
}
