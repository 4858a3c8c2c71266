package files

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// Output is a file to be written.
type Output struct {
	Name string
	// Kind is what it is, such as "a report of legwork". Own tells from the first
	// 4 KB of a file that is there whether it is one, and may be replaced; nil
	// leaves any file with something in it alone.
	Kind string
	Own  func(begins []byte) bool
}

// begins is how much of a file Own sees.
const begins = 4 << 10

// Write puts the content in place of the file that is there, by way of a
// temporary one that is on the disk before it gets the name. The error is one
// line that begins with the name.
func (o Output) Write(content []byte) error {
	target, err := Target(o.Name)
	if err == nil {
		err = o.mayReplace(target)
	}
	if err == nil {
		err = replace(target, content)
	}
	if err != nil {
		return fmt.Errorf("%s: %w", o.Name, Plain(err))
	}
	return nil
}

// Target follows symbolic links to the file that they lead to, which need not
// be there yet. What is no regular file is refused.
func Target(name string) (string, error) {
	for range 40 { // as many as Linux follows (path_resolution(7))
		info, err := os.Lstat(name)
		switch {
		case errors.Is(err, fs.ErrNotExist):
			return name, nil
		case err != nil:
			return "", err
		case info.Mode()&fs.ModeSymlink == 0:
			return name, regular(info)
		}
		to, err := os.Readlink(name)
		if err != nil {
			return "", err
		}
		if !filepath.IsAbs(to) {
			to = filepath.Join(filepath.Dir(name), to)
		}
		name = to
	}
	return "", errors.New("this symbolic link leads in a circle; name a file")
}

// regular refuses what is no file that can be replaced.
func regular(info fs.FileInfo) error {
	switch mode := info.Mode(); {
	case mode.IsRegular():
		return nil
	case mode.IsDir():
		return errors.New("this is a folder; name a file")
	}
	return errors.New("this is a device or a pipe and no file, and is left alone; name a file")
}

// mayReplace refuses what this writer hasn't written, or may not write.
func (o Output) mayReplace(target string) error {
	f, err := os.OpenFile(target, os.O_RDWR, 0)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	defer f.Close()
	first, err := io.ReadAll(io.LimitReader(f, begins))
	switch {
	case err != nil:
		return err
	case len(bytes.TrimSpace(first)) == 0 && o.Own != nil, o.Own != nil && o.Own(first):
		return nil
	case o.Own == nil:
		return errors.New("there is such a file already, and it is left alone; name a new one")
	}
	return fmt.Errorf("this isn't %s, and is left alone; name a new file", o.Kind)
}

// replace writes a temporary file and gives it the name.
func replace(target string, content []byte) error {
	mode := fs.FileMode(0o644)
	if info, err := os.Stat(target); err == nil {
		mode = info.Mode().Perm()
	}
	removeStale(filepath.Dir(target))
	f, err := os.CreateTemp(filepath.Dir(target), fmt.Sprintf("%s%s-%d-*", prefix, machine(), os.Getpid()))
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
		err = os.Chmod(f.Name(), mode)
	}
	if err == nil {
		err = os.Rename(f.Name(), target)
	}
	SyncFolder(target)
	return err
}

// Plain takes operation and file out of an error of the system, which may name a
// temporary file or a target that nobody typed, and says the common ones in words.
func Plain(err error) error {
	var path *fs.PathError
	var link *os.LinkError
	switch {
	case errors.Is(err, fs.ErrPermission):
		return denied{err}
	case errors.Is(err, fs.ErrNotExist):
		return missing{err}
	case errors.As(err, &path):
		return path.Err
	case errors.As(err, &link):
		return link.Err
	}
	return err
}

// denied says what rights are wanted; the system's error is within it.
type denied struct{ err error }

func (denied) Error() string {
	return "this user may not write here; choose another folder, or ask for the right"
}

func (d denied) Unwrap() error { return d.err }

// missing is a folder that isn't there, in the same words on every system.
type missing struct{ err error }

func (missing) Error() string { return "there is no such folder" }

func (m missing) Unwrap() error { return m.err }

// SyncFolder makes a file's name last. Where a system can't do that to a folder
// (Windows), it does it by itself.
func SyncFolder(file string) {
	if d, err := os.Open(filepath.Dir(file)); err == nil {
		_ = d.Sync()
		_ = d.Close()
	}
}
