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
		all = titled(found, "As found")
	}
	if left == nil {
		return all
	}
	if left.Verdict == diagnose.Agrees && len(all) > 1 {
		all = all[:1]
	}
	if after := titled(left, "As left"); len(after) > 0 {
		all = append(all, after[0])
	}
	return all
}

// titled are the pictures of a result, the first one by when it was read.
func titled(r *diagnose.Result, when string) []sketch.Titled {
	all := sketch.Pictures(r)
	switch {
	case len(all) == 0:
	case r.Verdict == diagnose.Undecided:
		all[0].Title = when + ": " + strings.ToLower(all[0].Title)
	default:
		all[0].Title = when
	}
	return all
}
