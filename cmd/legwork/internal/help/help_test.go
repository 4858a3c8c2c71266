package help

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
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
			require.LessOrEqual(t, len([]rune(line)), 86, "%s: %s", topic.Name, line)
		}
	}
}
