package save

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"legwork/cmd/legwork/internal/files"
	"legwork/probe/capture"
	"legwork/probe/reading"
)

// Options say what is saved where.
type Options struct {
	Name string // of the capture
	Live bool   // readings are taken now
	// Meter and Map say which meter it is and how it is read; may be empty.
	Meter, Map string
	// Others are files that this command reads or writes at the same time.
	Others []*os.File
	Now    func() time.Time
}

// Saver adds readings to a capture.
type Saver struct {
	o      Options
	f      file
	write  func(reading.Reading) error
	before last
	size   int64 // of what is whole
	open   bool  // the last line lacks its end
	said   bool  // Meter and Map are in the file
}

// file is what a Saver needs of the capture's file.
type file interface {
	Write(b []byte) (int, error)
	Stat() (os.FileInfo, error)
	Truncate(size int64) error
	Close() error
}

// Open opens a capture to add to, or begins one. Errors are one line that begins
// with its name.
func Open(o Options) (*Saver, error) {
	s, err := open(o)
	if errors.As(err, new(placed)) {
		return nil, err
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", o.Name, files.Plain(err))
	}
	return s, nil
}

func open(o Options) (*Saver, error) {
	target, err := files.Target(o.Name)
	if err != nil {
		return nil, err
	}
	f, err := os.OpenFile(target, os.O_CREATE|os.O_APPEND|os.O_RDWR, 0o644)
	if err != nil {
		return nil, err
	}
	s := &Saver{o: o, f: f}
	if err := s.begin(f); err != nil {
		_ = f.Close()
		return nil, err
	}
	return s, nil
}

// begin takes the file and looks through what is there.
func (s *Saver) begin(f *os.File) error {
	if err := s.another(f); err != nil {
		return err
	}
	switch taken, err := files.TryLock(f); {
	case err != nil:
		return err
	case !taken:
		return errors.New("another legwork saves to it just now; choose another file, or end that one")
	}
	info, err := f.Stat()
	if err != nil {
		return err
	}
	s.size = info.Size()
	csv := strings.EqualFold(filepath.Ext(s.o.Name), ".csv")
	if s.size > 0 && csv {
		return errors.New("there is such a file already; CSV is only written anew")
	}
	if s.size > 0 {
		if err := s.look(f); err != nil {
			return err
		}
	}
	if s.write = capture.NewWriter(whole{s}).Write; csv {
		s.write = capture.NewCSVWriter(whole{s}).Write
	}
	return nil
}

// another refuses a file that this command reads, or writes otherwise, under
// whatever name.
func (s *Saver) another(f *os.File) error {
	info, err := f.Stat()
	if err != nil {
		return err
	}
	for _, other := range s.o.Others {
		if is, err := other.Stat(); err == nil && os.SameFile(info, is) {
			return errors.New("this is the file that the readings come from, or go to already; choose another one")
		}
	}
	return nil
}

// Write adds a reading. One of another meter, or from before the last one, is
// refused. After an error the capture ends with a whole line.
func (s *Saver) Write(r reading.Reading) error {
	if r.Meter == "" && r.Map == "" {
		r.Meter, r.Map = s.o.Meter, s.o.Map
	}
	if err := s.before.goesOn(&r); err != nil {
		return fmt.Errorf("%s: %w", s.o.Name, err)
	}
	next := s.before
	next.take(&r)
	if s.said {
		r.Meter, r.Map = "", ""
	}
	if err := s.write(r); err != nil {
		return fmt.Errorf("%s: %w", s.o.Name, files.Plain(err))
	}
	s.before, s.said = next, true
	return nil
}

// Close ends it.
func (s *Saver) Close() error { return s.f.Close() }

// whole writes to the file wholly or not at all.
type whole struct{ s *Saver }

func (w whole) Write(b []byte) (int, error) {
	s := w.s
	if info, err := s.f.Stat(); err == nil && info.Size() != s.size {
		return 0, errors.New("another program changed it meanwhile; nothing more is added")
	}
	line := b
	if s.open {
		line = append([]byte("\n"), b...)
	}
	if n, err := s.f.Write(line); err != nil {
		if n > 0 && s.f.Truncate(s.size) != nil {
			err = fmt.Errorf("%w, and its last line may be cut off", err)
		}
		return 0, err
	}
	s.size += int64(len(line))
	s.open = false
	return len(b), nil
}
