package files

import (
	"os"
	"path/filepath"
)

// WriteWhole puts a file in place of the one there, by way of a temporary one
// that is on the disk before it gets the name.
func WriteWhole(name string, content []byte) error {
	f, err := os.CreateTemp(filepath.Dir(name), ".legwork-*")
	if err != nil {
		return err
	}
	defer os.Remove(f.Name())
	_, err = f.Write(content)
	if err == nil {
		err = f.Sync()
	}
	if closed := f.Close(); err == nil {
		err = closed
	}
	if err == nil {
		err = os.Chmod(f.Name(), 0o644)
	}
	if err == nil {
		err = os.Rename(f.Name(), name)
	}
	return err
}

// SyncFolder makes a file's name last. Where a system can't do that to a folder
// (Windows), it does it by itself.
func SyncFolder(file string) {
	if d, err := os.Open(filepath.Dir(file)); err == nil {
		_ = d.Sync()
		_ = d.Close()
	}
}
