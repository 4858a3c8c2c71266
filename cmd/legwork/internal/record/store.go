package record

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"

	"github.com/rogpeppe/go-internal/lockedfile"

	"legwork/cmd/legwork/internal/files"
)

// Store is the file of a record. Several processes may use one at once.
type Store struct {
	path string
	open func(path string) (file, error) // of the record, locked
}

// file is what Append needs of the record's file.
type file interface {
	io.Reader
	io.WriterAt
	Truncate(size int64) error
	Sync() error
	Close() error
}

// At is the record of a file, which need not be there yet.
func At(path string) *Store { return &Store{path, openLocked} }

// openLocked waits until no other process has the file.
func openLocked(path string) (file, error) {
	return lockedfile.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o644)
}

// Appended says what became of an entry.
type Appended struct {
	Number int
	Seal   string
	Torn   string // file in which a line that was cut off is kept now; or empty
}

// Append adds an entry and gives its number and seal. When it returns without
// an error the entry is on the disk for good; with one, nothing was added. A
// record that was changed, or that a newer legwork wrote, is refused.
func (s *Store) Append(e Entry) (a Appended, err error) {
	f, err := s.open(s.path)
	if err != nil {
		return a, s.fail(err)
	}
	defer func() {
		if closed := f.Close(); err == nil && closed != nil {
			err = s.fail(closed)
		}
	}()
	c, h, err := s.read(f)
	if err != nil {
		return a, s.fail(err)
	}
	if a.Torn, err = s.setAside(f, c); err != nil {
		return a, s.fail(err)
	}
	if err := s.catchUp(c, h); err != nil {
		return a, s.fail(err)
	}
	a.Number, a.Seal, err = s.write(f, c, e)
	if err != nil {
		return a, s.fail(fmt.Errorf("%w; nothing was added", bare(err)))
	}
	return a, nil
}

// read takes the record apart and refuses one that was changed.
func (s *Store) read(f io.Reader) (*content, *head, error) {
	src, err := io.ReadAll(f)
	if err != nil {
		return nil, nil, err
	}
	h, err := readHead(s.path)
	if err != nil {
		return nil, nil, err
	}
	c, err := takeApart(src, h)
	if err != nil {
		return nil, nil, err
	}
	if findings := c.verify(h); len(findings) > 0 {
		return nil, nil, Changed{findings[0]}
	}
	return c, h, nil
}

// Changed is the error of a record that was changed after it was written.
type Changed struct{ Finding string } // the first of what was changed

// Error says what to do.
func (c Changed) Error() string {
	return c.Finding + "; nothing was added: put the original back, or move record and head aside to begin another"
}

// catchUp brings a head up that the power left one entry behind, before another
// entry is written: a head two behind would look like an insertion.
func (s *Store) catchUp(c *content, h *head) error {
	n := len(c.lines)
	if n == 0 || h != nil && h.Entries == n {
		return nil
	}
	return writeHead(s.path, head{Version, n, c.lines[n-1].seal})
}

// setAside keeps a line that was cut off in a file of its own, and takes it off.
func (s *Store) setAside(f file, c *content) (string, error) {
	if len(c.tail) == 0 {
		return "", nil
	}
	name, err := keep(strings.TrimSuffix(s.path, ".jsonl"), c.tail)
	if err != nil {
		return "", err
	}
	if err := f.Truncate(int64(c.whole)); err != nil {
		return name, err
	}
	return name, f.Sync()
}

// keep writes a file BASE.torn, or BASE.2.torn and so on, that isn't there yet.
func keep(base string, b []byte) (string, error) {
	name := base + ".torn"
	f, err := os.OpenFile(name, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o644)
	for i := 2; errors.Is(err, fs.ErrExist); i++ {
		name = fmt.Sprintf("%s.%d.torn", base, i)
		f, err = os.OpenFile(name, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o644)
	}
	if err != nil {
		return "", err
	}
	_, err = f.Write(b)
	if err == nil {
		err = f.Sync()
	}
	if closed := f.Close(); err == nil {
		err = closed
	}
	files.SyncFolder(name)
	return name, err
}

// write adds the line, and takes it back where it can't be added for good.
func (s *Store) write(f file, c *content, e Entry) (number int, seal string, err error) {
	e.Version, e.Number, e.Previous = Version, len(c.lines)+1, nil
	if n := len(c.lines); n > 0 {
		e.Previous = &c.lines[n-1].seal
	}
	text, err := e.line()
	if err != nil {
		return 0, "", err
	}
	seal = Seal(text)
	text = append(text, '\n')
	if c.unended {
		text = append([]byte{'\n'}, text...)
	}
	_, err = f.WriteAt(text, int64(c.whole))
	if err == nil {
		err = f.Sync()
	}
	if err == nil {
		files.SyncFolder(s.path)
		err = writeHead(s.path, head{Version, e.Number, seal})
	}
	if err != nil {
		// As far as it goes: a line that stays was cut off, and is set aside at
		// the next opening.
		_ = f.Truncate(int64(c.whole))
		_ = f.Sync()
		return 0, "", err
	}
	return e.Number, seal, nil
}

// fail names the record, once.
func (s *Store) fail(err error) error { return fmt.Errorf("%s: %w", s.path, bare(err)) }

// bare takes operation and file out of an error of the system.
func bare(err error) error {
	if path, ok := err.(*fs.PathError); ok {
		return path.Err
	}
	return err
}
