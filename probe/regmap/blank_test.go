package regmap

import (
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

var blankPoint = regexp.MustCompile(`\{at: ,`)

// Once the registers are written in, and the marks of comment taken away, it is a
// map; until then each blank is named with its place.
func TestABlankMapIsFilledIn(t *testing.T) {
	for channels := 1; channels <= 3; channels++ {
		src := string(Blank(BlankOptions{Channels: channels, Unit: 7, Meter: "Potter's feeder"}))
		_, err := Parse("m.yaml", []byte(src))
		require.ErrorContains(t, err, "`at` is still blank; write its first register, or take the line out")
		require.Len(t, strings.Split(err.Error(), "\n"), 3*channels)

		at := 0
		filled := blankPoint.ReplaceAllStringFunc(regexp.MustCompile(`(?m)^  # ([a-z_.0-9]+: \{)`).ReplaceAllString(src, "  $1"),
			func(string) string {
				at += 10
				return "{at: " + string(rune('0'+at/100)) + string(rune('0'+at/10%10)) + "0,"
			})
		filled = regexp.MustCompile(`at: 0+([1-9])`).ReplaceAllString(filled, "at: $1")
		m, err := Parse("m.yaml", []byte(filled))
		require.NoError(t, err, filled)
		require.Len(t, m.Points(), 4*channels+5)
		require.Equal(t, 7, m.Unit)
		require.Equal(t, "Potter's feeder", m.Meter)
	}
}
