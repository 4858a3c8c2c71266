package files

import (
	"bytes"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

func ours(b []byte) bool { return bytes.HasPrefix(b, []byte("ours")) }

func output(name string) Output { return Output{Name: name, Kind: "a letter of ours", Own: ours} }

func put(t *testing.T, name, content string) string {
	t.Helper()
	require.NoError(t, os.WriteFile(name, []byte(content), 0o600))
	return name
}

func holds(t *testing.T, name, content string) {
	t.Helper()
	b, err := os.ReadFile(name)
	require.NoError(t, err)
	require.Equal(t, content, string(b))
}

func TestWhatIsReplaced(t *testing.T) {
	name := filepath.Join(t.TempDir(), "letter.txt")
	for _, there := range []string{"-", "", "\n", "ours, older"} {
		if there != "-" {
			put(t, name, there)
		}
		require.NoError(t, output(name).Write([]byte("ours")))
		holds(t, name, "ours")
	}
	put(t, name, `{"legwork-record":1}`)
	require.EqualError(t, output(name).Write([]byte("ours")),
		name+": this isn't a letter of ours, and is left alone; name a new file")
	require.ErrorContains(t, Output{Name: name}.Write([]byte("ours")), "there is such a file already")
	holds(t, name, `{"legwork-record":1}`)
	put(t, name, "")
	require.ErrorContains(t, Output{Name: name}.Write([]byte("ours")), "there is such a file already")
}

func TestASymbolicLinkStays(t *testing.T) {
	dir := t.TempDir()
	link, target := filepath.Join(dir, "link.txt"), filepath.Join(dir, "letter.txt")
	if err := os.Symlink("letter.txt", link); err != nil {
		t.Skip(err)
	}
	for range 2 { // it leads nowhere the first time
		require.NoError(t, output(link).Write([]byte("ours")))
		info, err := os.Lstat(link)
		require.NoError(t, err)
		require.NotZero(t, info.Mode()&fs.ModeSymlink)
		holds(t, target, "ours")
	}
	put(t, target, "another's")
	require.ErrorContains(t, output(link).Write([]byte("ours")), link+": this isn't a letter of ours")
	loop := filepath.Join(dir, "loop")
	require.NoError(t, os.Symlink("loop", loop))
	require.ErrorContains(t, output(loop).Write(nil), "leads in a circle")
}

func TestAFolderIsNoFile(t *testing.T) {
	dir := t.TempDir()
	require.EqualError(t, output(dir).Write(nil), dir+": this is a folder; name a file")
	name := filepath.Join(dir, "none", "letter.txt")
	require.ErrorIs(t, output(name).Write(nil), fs.ErrNotExist)
}

// What a killed run left goes with the next write; what another run writes stays.
func TestTemporaryFilesOfKilledRuns(t *testing.T) {
	dir := t.TempDir()
	gone := exec.Command(os.Args[0], "-test.run", "^$")
	require.NoError(t, gone.Run())
	temp := func(machine string, pid int) string {
		return put(t, filepath.Join(dir, fmt.Sprintf("%s%s-%d-1234", prefix, machine, pid)), "half")
	}
	killed, running, elsewhere := temp(machine(), gone.Process.Pid), temp(machine(), os.Getppid()), temp("00000000", 1)
	foreign := put(t, filepath.Join(dir, ".legwork-notes"), "a person's")
	require.NoError(t, output(filepath.Join(dir, "letter.txt")).Write([]byte("ours")))
	require.NoFileExists(t, killed)
	require.FileExists(t, running)
	require.FileExists(t, elsewhere)
	require.FileExists(t, foreign)

	before := time.Now().Add(-2 * time.Hour)
	require.NoError(t, os.Chtimes(elsewhere, before, before))
	require.NoError(t, os.Chtimes(foreign, before, before))
	require.NoError(t, output(filepath.Join(dir, "letter.txt")).Write([]byte("ours")))
	require.NoFileExists(t, elsewhere)
	require.FileExists(t, foreign)
}
