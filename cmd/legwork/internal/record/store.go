package record

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"
	"time"

	"github.com/rogpeppe/go-internal/lockedfile"

	"legwork/cmd/legwork/internal/files"
)

// Store is the file of a record. Several processes may use one at once.
type Store struct {
	path string
	wait Wait
	open func(path string) (file, error) // of the record, locked
}

// Patience is how long to wait for a record that another program holds; our
// choice. Adding an entry takes some milliseconds.
const Patience = 10 * time.Second

// mostBytes is more than a record has that was written at jobs; our choice.
const mostBytes = 256 << 20

// Wait says how a record is waited for that another program holds. The zero
// value waits for as long as Patience, without a word.
type Wait struct {
	Most time.Duration     // 0 is Patience
	Say  func(text string) // told once, where it takes longer than a moment; may be nil
}

// moment is how long a person waits without a word; our choice.
const moment = time.Second

// Waiting is the same record with another way to wait.
func (s *Store) Waiting(w Wait) *Store {
	open := func(path string) (file, error) {
		return within(w, path, func() (*lockedfile.File, error) {
			return lockedfile.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o644)
		})
	}
	return &Store{s.path, w, open}
}

// within opens a locked file, unless another program holds it too long.
func within(w Wait, path string, open func() (*lockedfile.File, error)) (*lockedfile.File, error) {
	most := cmp.Or(w.Most, Patience)
	type opened struct {
		f   *lockedfile.File
		err error
	}
	got := make(chan opened)
	gaveUp := make(chan struct{})
	go func() {
		f, err := open()
		select {
		case got <- opened{f, err}:
		case <-gaveUp:
			if err == nil {
				_ = f.Close()
			}
		}
	}()
	soon, late := time.NewTimer(moment), time.NewTimer(most)
	defer soon.Stop()
	defer late.Stop()
	for {
		select {
		case o := <-got:
			return o.f, o.err
		case <-soon.C:
			if w.Say != nil {
				w.Say(fmt.Sprintf("%s: another program holds it; waiting up to %s for that one to end", path, most))
			}
		case <-late.C:
			close(gaveUp)
			return nil, fmt.Errorf("another program holds it since %s or longer; end that one, and say it again", most)
		}
	}
}

// all reads a record that is none of unlikely size.
func all(f io.Reader) ([]byte, error) {
	if on, ok := f.(interface{ Stat() (fs.FileInfo, error) }); ok {
		if info, err := on.Stat(); err == nil && info.Size() > mostBytes {
			return nil, fmt.Errorf("it has %d bytes, and no record has more than %d; is it the right file?", info.Size(), mostBytes)
		}
	}
	return io.ReadAll(f)
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
func At(path string) *Store { return (&Store{path: path}).Waiting(Wait{}) }

// Appended says what became of an entry.
type Appended struct {
	Number int
	Seal   string
	Torn   string // file in which a line that was cut off is kept now; or empty
}

// Append adds an entry and gives its number and seal; one without a time gets that of
// now. When it returns without an error the entry is on the disk for good; with one,
// nothing was added, or the error says that this isn't known. A record that was changed,
// or that a newer legwork wrote, is refused.
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
	if a.Number, a.Seal, err = s.write(f, c, e); err != nil {
		return a, s.fail(err)
	}
	return a, nil
}

// read takes the record apart and refuses one that was changed.
func (s *Store) read(f io.Reader) (*content, *head, error) {
	src, err := all(f)
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
	if err := c.foreign(); err != nil && h == nil {
		return nil, nil, fmt.Errorf("%w; nothing was added: move it aside to begin one", err)
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
	if e.At.IsZero() { // while the record is held: entries of several programs are in the order of their times
		e.At = time.Now()
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
		return 0, "", takeBack(f, c, err)
	}
	return e.Number, seal, nil
}

// takeBack takes off what a write left. Where the disk refuses that too, a line
// that was cut off is set aside at the next opening, and a whole one counts.
func takeBack(f file, c *content, err error) error {
	if f.Truncate(int64(c.whole)) != nil {
		return fmt.Errorf("%w, nor can the disk take back what was begun; `legwork record show` says whether it was added",
			bare(err))
	}
	_ = f.Sync()
	return fmt.Errorf("%w; nothing was added", bare(err))
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
