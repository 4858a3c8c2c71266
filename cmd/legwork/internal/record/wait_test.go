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
	_, err = At(path).Waiting(time.Millisecond).Append(note("more"))
	require.ErrorContains(t, err, "kiln.record.jsonl: another program holds it since 1ms or longer")
	require.NoError(t, held.Close())
	_, err = At(path).Append(note("more"))
	require.NoError(t, err)
}
