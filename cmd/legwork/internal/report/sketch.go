package report

import (
	"fmt"
	"html/template"
	"strings"

	"legwork/cmd/legwork/internal/sketch"
	"legwork/diagnose"
)

// Drawn is a sketch for a page.
type Drawn struct {
	Title string
	SVG   template.HTML
}

// Sketches draws where the leads and CTs are by a result, and where they should be if something is to be moved. The id is
// unlike that of anything else on the page.
func Sketches(r *diagnose.Result, id string) []Drawn { return drawn(sketch.Pictures(r), id) }

func drawn(all []sketch.Titled, id string) []Drawn {
	var out []Drawn
	for i, t := range all {
		out = append(out, Drawn{t.Title, sketch.SVG(t, fmt.Sprintf("%s-%d", id, i))})
	}
	return out
}

// pictures are those of a job: as found; as it should be, or as left where that agrees; as left.
func pictures(found, left *diagnose.Result) []sketch.Titled {
	var all []sketch.Titled
	if found != nil {
		all = sketch.Pictures(found)
	}
	if left == nil {
		return all
	}
	if left.Verdict == diagnose.Agrees && len(all) > 1 {
		all = all[:1]
	}
	if after := sketch.Pictures(left); len(after) > 0 {
		after[0].Title = "As left"
		if left.Verdict == diagnose.Undecided {
			after[0].Title += ": the likeliest"
		}
		all = append(all, after[0])
	}
	return all
}

// sketchText is the same for Markdown.
func sketchText(all []sketch.Titled) string { return strings.Join(sketch.Text(all, 80, false), "\n") }
