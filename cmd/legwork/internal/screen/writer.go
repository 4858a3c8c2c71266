package screen

import (
	"fmt"
	"io"
	"strings"
)

// writer gathers lines and the first error.
type writer struct {
	Style
	out io.Writer
	err error

	asLeft  bool     // the readings are those after the last move
	columns []string // heads of the table that is being written, in words
}

// heads is the first row of a table.
func (w *writer) heads(cells []string, widths []int) {
	if w.columns = cells; !w.Words {
		w.line(w.Style.row(cells, widths))
	}
}

// row is one row of a table; in words, with the heads before the values.
func (w *writer) row(cells []string, widths []int) {
	heads := w.columns
	w.line(w.cells(cells, widths))
	w.columns = heads
}

// cells are those of a row.
func (w *writer) cells(cells []string, widths []int) string {
	if !w.Words {
		return w.Style.row(cells, widths)
	}
	return "  " + strings.Join(w.wrap(spoken(w.columns, cells), 2), "\n  ")
}

func (w *writer) line(text string) {
	w.columns = nil
	if w.err == nil {
		_, w.err = fmt.Fprintln(w.out, strings.TrimRight(text, " "))
	}
}

// item writes a paragraph after a mark, its further lines under its first.
func (w *writer) item(mark, text string) {
	indent := len([]rune(mark))
	for i, l := range w.wrap(text, indent) {
		if i > 0 {
			mark = strings.Repeat(" ", indent)
		}
		w.line(mark + l)
	}
}

func (w *writer) head(text string) {
	w.line("")
	w.line(w.paint(bold, text))
}

// word is a verdict's word, and its colour.
type word struct{ colour, text string }

// wordOf is the word of a verdict, whichever test or account it is of.
func wordOf[V ~string](v V) word {
	colour := map[string]string{"agrees": green, "fault": red, "undecided": yellow, "not compared": yellow}[string(v)]
	return word{colour, strings.ToUpper(string(v))}
}

// verdictLine writes a verdict's word and its sentence beside it.
func (w *writer) verdictLine(as word, sentence string) {
	indent := len(as.text) + 2
	lines := w.wrap(sentence, indent)
	w.line(w.paint(bold+";"+as.colour, as.text) + "  " + lines[0])
	for _, l := range lines[1:] {
		w.line(strings.Repeat(" ", indent) + l)
	}
}

// list writes items under a title; nothing where there are none.
func (w *writer) list(title, mark string, items []string) {
	if len(items) == 0 {
		return
	}
	w.head(title)
	for _, text := range items {
		w.item(mark, text)
	}
}

// steps writes what is to be done, one after the other.
func (w *writer) steps(title string, steps []string) {
	if len(steps) == 0 {
		return
	}
	w.head(title)
	for i, text := range steps {
		w.item(fmt.Sprintf("  %d. ", i+1), text)
	}
}

// evidence writes the sentences that hand a test to the diagnosis.
func (w *writer) evidence(title string, sentences []string) {
	if len(sentences) == 0 {
		return
	}
	w.head(title)
	for _, s := range sentences {
		w.line(fmt.Sprintf("  --seen %q", s))
	}
}

// notes writes what was assumed.
func (w *writer) notes(notes []string) { w.list("Assumed and not known", "  - ", notes) }
