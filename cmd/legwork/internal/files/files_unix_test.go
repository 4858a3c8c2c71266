//go:build unix

package files

import (
	"io/fs"
	"os"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestASpecialFileIsLeftAlone(t *testing.T) {
	dir := t.TempDir()
	fifo := filepath.Join(dir, "letter.txt")
	require.NoError(t, syscall.Mkfifo(fifo, 0o600))
	link := filepath.Join(dir, "link.txt")
	require.NoError(t, os.Symlink(fifo, link))
	for _, name := range []string{fifo, link, "/dev/null"} {
		before, err := os.Stat(name)
		require.NoError(t, err)
		require.ErrorContains(t, output(name).Write([]byte("ours")), name+": this is a device or a pipe")
		after, err := os.Stat(name)
		require.NoError(t, err)
		require.Equal(t, before.Mode().Type(), after.Mode().Type())
	}
}

// The error names the person's file, never the temporary one.
func TestRightsThatLack(t *testing.T) {
	if os.Geteuid() == 0 {
		t.Skip("root may write anywhere")
	}
	dir := t.TempDir()
	name := put(t, filepath.Join(dir, "letter.txt"), "ours")
	require.NoError(t, os.Chmod(dir, 0o500))
	defer os.Chmod(dir, 0o700)
	err := output(name).Write([]byte("ours"))
	require.EqualError(t, err, name+": this user may not write here; choose another folder, or ask for the right")
	require.ErrorIs(t, err, fs.ErrPermission)
}
