package report

import (
	"html/template"

	"legwork/cmd/legwork/internal/sketch"
	"legwork/diagnose"
)

// Phasors makes an SVG of a result's phasors, and says in words what it shows;
// both are empty where no angle is known. id is unlike any other on the page.
func Phasors(r *diagnose.Result, id, name string) (svg template.HTML, caption string) {
	return drawing(r, id, shown(name))
}

// Style is the style sheet of the page, which other pages build on.
func Style() string { return pageStyle + sketch.Style() }

// Shown replaces what could make a text look like something else.
func Shown(s string) string { return shown(s) }
