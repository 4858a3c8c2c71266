package screen

import (
	"legwork/cmd/legwork/internal/sketch"
	"legwork/diagnose"
)

// sketch draws where the leads and CTs are, and where they should be.
func (w *writer) sketch(r diagnose.Result) {
	lines := w.SketchLines(&r)
	if w.Words {
		lines = w.sketchInWords(sketch.Pictures(&r))
	}
	if len(lines) > 0 {
		w.line("")
		for _, l := range lines {
			w.line(l)
		}
	}
}

// SketchLines is the sketch of a result in as many columns as there are; nothing where it places no conductor,
// or where words do.
func (s Style) SketchLines(r *diagnose.Result) []string {
	if s.Words {
		return nil
	}
	return sketch.Text(sketch.Pictures(r), s.width(), s.ASCII)
}
