package screen

import (
	"legwork/cmd/legwork/internal/sketch"
	"legwork/diagnose"
)

// sketch draws where the leads and CTs are, and where they should be; for a screen reader it says so.
func (w *writer) sketch(r diagnose.Result) {
	if w.Words {
		for _, t := range sketch.Pictures(&r) {
			w.list("Wiring: "+t.Title, "  - ", sketch.Words(t.Picture))
		}
		return
	}
	if lines := w.SketchLines(&r); len(lines) > 0 {
		w.line("")
		for _, l := range lines {
			w.line(l)
		}
	}
}

// SketchLines is the sketch of a result in as many columns as there are, or in words; nothing where it places no
// conductor.
func (s Style) SketchLines(r *diagnose.Result) []string {
	if s.Words {
		return s.sketchInWords(sketch.Pictures(r))
	}
	return sketch.Text(sketch.Pictures(r), s.width(), s.ASCII)
}
