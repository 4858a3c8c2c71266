package report

import (
	"html"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/cmd/legwork/internal/record"
)

var (
	turned  = record.Entry{Kind: record.Note, At: day.Add(time.Hour), Moves: []string{"Turned CT 2 round"}}
	advised = "Turn CT 2 round on the conductor"
)

// What is left to do is by the last readings; what was advised before is told as past.
func TestWhatIsLeftToDo(t *testing.T) {
	found := entry(t, record.AsFound, kiln(day, 20, -155, 30))
	wrong := entry(t, record.AsLeft, kiln(day.Add(2*time.Hour), 20, 25, -150))
	right := entry(t, record.AsLeft, kiln(day.Add(2*time.Hour), 20, 25, 30))
	for name, c := range map[string]struct {
		entries       []record.Entry
		left, past    string // heads
		todo, onceWas string // steps below them
	}{
		"as found": {[]record.Entry{found}, "What to do, by the readings as found", "", advised, ""},
		"moved":    {[]record.Entry{found, turned}, "", "What was advised, by the readings as found", "", advised},
		"another CT reversed as left": {[]record.Entry{found, turned, wrong}, "What to do, by the readings as left",
			"What was advised, by the readings as found", "Turn CT 3 round on the conductor", advised},
		"moved after that too": {[]record.Entry{found, turned, wrong, turned}, "", "What was advised, by the readings as left",
			"", "Turn CT 3 round on the conductor"},
		"right as left":  {[]record.Entry{found, turned, right}, "", "What was advised, by the readings as found", "", advised},
		"right as found": {[]record.Entry{entry(t, record.AsFound, kiln(day, 20, 25, 30))}, "", "", "", ""},
	} {
		t.Run(name, func(t *testing.T) {
			r := reportOf(t, sheet, c.entries...)
			for _, page := range []string{write(t, r.Markdown), write(t, r.HTML)} {
				left := below(page, "What to do, by the readings as ")
				past := below(page, "What was advised, by the readings as ")
				require.Equal(t, c.left == "", left == "", left)
				require.Equal(t, c.past == "", past == "", past)
				require.Contains(t, left, c.left)
				require.Contains(t, past, c.past)
				require.Contains(t, left, c.todo)
				require.Contains(t, past, c.onceWas)
				if c.onceWas != "" {
					require.Contains(t, past, "This was the advice then")
					require.NotContains(t, left, c.onceWas)
				}
			}
		})
	}
}

// below is a page from a head on up to the next one; empty where it isn't there.
func below(page, head string) string {
	i := strings.Index(page, head)
	if i < 0 {
		return ""
	}
	text := page[i:]
	for _, next := range []string{"\n## ", "<h2"} {
		text, _, _ = strings.Cut(text, next)
	}
	return text
}

// Readings that were called as found and came after a move or readings as left aren't that.
func TestWhatIsNotAsFound(t *testing.T) {
	late := entry(t, record.AsFound, kiln(day.Add(2*time.Hour), 20, 25, 30))
	left := entry(t, record.AsLeft, kiln(day.Add(2*time.Hour), 20, 25, 30))
	for why, before := range map[string]record.Entry{"something was moved before, by entry 1": turned,
		"entry 1 before it was read as left": left} {
		r := reportOf(t, sheet, before, late)
		for _, page := range []string{write(t, r.Markdown), html.UnescapeString(write(t, r.HTML))} {
			require.Contains(t, page, "ot recorded in time. Entry 2, which is called so, "+
				"isn't the wiring as it was found: "+why)
			require.NotContains(t, page, "Channels, as found")
			require.NotContains(t, page, "Read as found")
			require.Contains(t, page, "Read late, called as found")
			require.NotContains(t, page, "Registration as found")
		}
	}
	found := entry(t, record.AsFound, kiln(day, 20, -155, 30))
	struck := record.Entry{Kind: record.Struck, At: day.Add(3 * time.Hour), Strikes: &record.Strike{Number: 1, Why: "a slip"}}
	page := write(t, reportOf(t, sheet, found, turned, late, struck).Markdown)
	require.Contains(t, page, "Entry 3, which is called so")
	page = write(t, reportOf(t, sheet, left, found, struck).Markdown)
	require.Contains(t, page, "**As found**: FAULT", "an entry that is struck was none")
}
