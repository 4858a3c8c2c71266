package screen

import (
	"bytes"
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/require"
)

func guarded(t *testing.T, colours bool, s string) string {
	t.Helper()
	var out bytes.Buffer
	n, err := (&Guard{To: &out, Colours: colours}).Write([]byte(s))
	require.NoError(t, err)
	require.Equal(t, len(s), n)
	return out.String()
}

func TestWhatCantReachATerminal(t *testing.T) {
	for s, want := range map[string]string{
		"Tidewater, 230 V ±5 % – ° é 窯\n\t": "Tidewater, 230 V ±5 % – ° é 窯\n\t",
		"\x1b]0;title\a":              `\u001b]0;title\u0007`,
		"\x1b[31mred\x1b[0m":          `\u001b[31mred\u001b[0m`,
		"a\u202eb\u2066c\u200b\ufeff": `a\u202eb\u2066c\u200b\ufeff`,
		"c1 \u009b2J \x9b2J":          `c1 \u009b2J \u009b2J`,
		"\r\x00\x7f\u2028":            `\u000d\u0000\u007f\u2028`,
		"tag \U000e0001":              `tag \udb40\udc01`,
		"\xc3":                        `\u00c3`,
	} {
		require.Equal(t, want, guarded(t, false, s))
	}
	require.Equal(t, "\x1b[1;31mred\x1b[0m", guarded(t, true, "\x1b[1;31mred\x1b[0m"))
	require.Equal(t, `\u001b[2J\u001b[1`, guarded(t, true, "\x1b[2J\x1b[1"))
	require.Equal(t, `a\u202eb`, Word("a\u202eb"))
	require.Equal(t, `two lines\u001b`, OneLine("two\nlines\x1b"))
}

// What is escaped in JSON is the same text to who reads it.
func TestGuardedJSONReadsBack(t *testing.T) {
	text := "a\u202eb \u009b \x7f \U000e0001 ok"
	src, err := json.Marshal(map[string]string{"site": text})
	require.NoError(t, err)
	out := guarded(t, false, string(src))
	require.NotContains(t, out, "\u202e")
	var back map[string]string
	require.NoError(t, json.Unmarshal([]byte(out), &back))
	require.Equal(t, text, back["site"])
}

// On a terminal a line is folded between words; a command in it stays whole, and
// the prompt at its end stays on its line.
func TestGuardFoldsForATerminal(t *testing.T) {
	var out bytes.Buffer
	text := "  kiln.yaml:14:11: power.2 reads registers 12-13, which voltage.3 covers --dry-run\nshort\nfine? "
	n, err := (&Guard{To: &out, Columns: 40}).Write([]byte(text))
	require.NoError(t, err)
	require.Equal(t, len(text), n)
	require.Equal(t, "  kiln.yaml:14:11: power.2 reads\n    registers 12-13, which voltage.3\n    covers --dry-run\n"+
		"short\nfine? ", out.String())
}
