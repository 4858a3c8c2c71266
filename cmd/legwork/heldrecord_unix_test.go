//go:build unix

package main

import (
	"os"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/lockedfile"
	"github.com/stretchr/testify/require"
)

// The live screen ends on a signal, and gives the terminal back, also while another
// program holds the record that it keeps.
func TestWatchEndsWhileItsRecordIsHeld(t *testing.T) {
	sheet := filepath.Join(t.TempDir(), "kiln.yaml")
	require.NoError(t, os.WriteFile(sheet, []byte("legwork-job: 1\nmeter: sim:kiln-house\nservice: 120/208Y\n"), 0o600))
	x := inTerminal(t, 80, 24, nil, "watch", "--keep", sheet, "--interval", "20ms")
	x.shows("agrees")
	held, err := lockedfile.Edit(filepath.Join(filepath.Dir(sheet), "kiln.record.jsonl"))
	require.NoError(t, err)
	defer held.Close()
	begun := time.Now()
	require.NoError(t, x.cmd.Process.Signal(syscall.SIGTERM))
	x.exits()
	require.Less(t, time.Since(begun), 3*time.Second)
}
