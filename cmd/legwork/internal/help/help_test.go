package help

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose/ledger"
	"legwork/probe/capture"
)

// Every page is listed once, has a line for lists, and fits a terminal.
func TestEveryPageIsListed(t *testing.T) {
	files, err := pages.ReadDir("topics")
	require.NoError(t, err)
	topics := Topics()
	require.Len(t, topics, len(files))
	for _, f := range files {
		require.Contains(t, order, strings.TrimSuffix(f.Name(), ".txt"))
	}
	for _, topic := range topics {
		require.NotEmpty(t, topic.Text, topic.Name)
		require.NotContains(t, topic.Short, "\n", topic.Name)
		for line := range strings.Lines(topic.Text) {
			if strings.HasPrefix(line, "  {") {
				continue // a line of JSON is one line
			}
			require.LessOrEqual(t, len([]rune(line)), 86, "%s: %s", topic.Name, line)
		}
	}
}

// example is the lines that are indented, from one that begins so to the next blank one.
func example(t *testing.T, text, begins string) []byte {
	_, rest, ok := strings.Cut(text, "\n  "+begins)
	require.True(t, ok, begins)
	rest, _, _ = strings.Cut("  "+begins+rest, "\n\n")
	var b strings.Builder
	for line := range strings.Lines(rest) {
		b.WriteString(strings.TrimPrefix(line, "  "))
	}
	return []byte(b.String() + "\n")
}

// What the pages show is read as they say.
func TestTheFormatsAreRead(t *testing.T) {
	l, err := ledger.ParseYAML("reads.yaml", example(t, Ledger, "legwork-ledger"))
	require.NoError(t, err)
	require.Len(t, l.Entries, 3)
	require.Len(t, l.Struck, 1)
	l, err = ledger.ParseCSV("reads.csv", example(t, Ledger, "at,kWh"))
	require.NoError(t, err)
	require.Len(t, l.Entries, 2)
	page, err := pages.ReadFile("topics/captures.txt")
	require.NoError(t, err)
	for begins, channels := range map[string]int{`{"at"`: 3, "at,voltage.1": 2} {
		c, err := capture.NewReader("day", bytes.NewReader(example(t, string(page), begins)))
		require.NoError(t, err)
		r, err := c.Next()
		require.NoError(t, err, begins)
		require.Len(t, r.Channels, channels)
	}
}
