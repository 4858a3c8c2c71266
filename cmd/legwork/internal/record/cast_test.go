package record

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// day is when the invented jobs of these tests take place.
var day = time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC)

// note is an entry that says something.
func note(words string) Entry {
	return Entry{Kind: Note, At: day, Site: "Tidewater kiln house", Remarks: []string{words}}
}

// begin makes a record of some notes and gives its file.
func begin(t *testing.T, entries int) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "kiln.record.jsonl")
	for i := range entries {
		_, err := At(path).Append(note(fmt.Sprintf("words of entry %d", i+1)))
		require.NoError(t, err)
	}
	return path
}

func readFile(t *testing.T, path string) []byte {
	t.Helper()
	b, err := os.ReadFile(path)
	require.NoError(t, err)
	return b
}

func findings(t *testing.T, path string) []string {
	t.Helper()
	log, err := At(path).Read()
	require.NoError(t, err)
	return log.Findings
}
