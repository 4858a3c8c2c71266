package record

import (
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/lockedfile"
	"github.com/stretchr/testify/require"
)

// A record that another program holds is given up after a while, and said.
func TestALockThatIsHeld(t *testing.T) {
	path := begin(t, 1)
	held, err := lockedfile.Edit(path)
	require.NoError(t, err)
	_, err = At(path).Waiting(Wait{Most: time.Millisecond}).Append(note("more"))
	require.ErrorContains(t, err, "kiln.record.jsonl: another program holds it since 1ms or longer")
	require.NoError(t, held.Close())
	_, err = At(path).Append(note("more"))
	require.NoError(t, err)
}

// Who waits is told what for.
func TestWhatALockWaitsForIsSaid(t *testing.T) {
	path := begin(t, 1)
	held, err := lockedfile.Edit(path)
	require.NoError(t, err)
	said := make(chan string, 1)
	added := make(chan error, 1)
	go func() {
		_, err := At(path).Waiting(Wait{Say: func(text string) { said <- text }}).Append(note("more"))
		added <- err
	}()
	require.Contains(t, <-said, "kiln.record.jsonl: another program holds it; waiting up to 10s for that one to end")
	require.NoError(t, held.Close())
	require.NoError(t, <-added)
}
