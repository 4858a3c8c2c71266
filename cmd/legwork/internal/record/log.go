package record

import (
	"errors"
	"fmt"
	"io/fs"
	"strings"

	"github.com/rogpeppe/go-internal/lockedfile"
)

// Log is a record as it was read.
type Log struct {
	Entries  []Sealed // those that can be read, in the order of the file
	Findings []string // what was changed, by the number of the entry
	Remarks  []string // what is worth knowing and is no change
	Cited    []Cited  // files that entries are from and that aren't as they were; see CheckFiles
}

// Sealed is an entry with the seal of its line.
type Sealed struct {
	Entry
	Seal string
}

// ErrNone is within the error of a record that isn't there yet.
var ErrNone = errors.New("there is no record yet; `legwork record as-found JOB.yaml` begins one")

// Read gives the record; it changes nothing. A record that was changed is given
// with what was found, without an error.
func (s *Store) Read() (*Log, error) {
	f, err := within(s.wait, s.path, func() (*lockedfile.File, error) { return lockedfile.Open(s.path) })
	if errors.Is(err, fs.ErrNotExist) {
		return s.gone()
	}
	if err != nil {
		return nil, s.fail(err)
	}
	defer f.Close()
	src, err := all(f)
	if err != nil {
		return nil, s.fail(err)
	}
	h, err := readHead(s.path)
	bad := errors.Is(err, errHead)
	if err != nil && !bad {
		return nil, s.fail(err)
	}
	c, err := takeApart(src, h)
	if err != nil {
		return nil, s.fail(err)
	}
	return s.log(c, h, bad)
}

// gone is a record whose file isn't there: none was begun, or a head is left of one.
func (s *Store) gone() (*Log, error) {
	switch h, err := readHead(s.path); {
	case errors.Is(err, errHead):
		return &Log{Findings: []string{"the record is missing, and the head file of one is there, which can't be read"}}, nil
	case err != nil:
		return nil, s.fail(err)
	case h != nil:
		return &Log{Findings: []string{fmt.Sprintf("the record is missing, and its head file counts entries up to %d",
			h.Entries)}}, nil
	}
	return nil, s.fail(ErrNone)
}

func (s *Store) log(c *content, h *head, badHead bool) (*Log, error) {
	if err := c.foreign(); err != nil && h == nil {
		return nil, s.fail(err)
	}
	l := &Log{Findings: c.verify(h)}
	for _, one := range c.lines {
		if one.entry != nil {
			l.Entries = append(l.Entries, Sealed{*one.entry, one.seal})
		}
	}
	switch {
	case len(l.Entries) == 0 && len(l.Findings) == 0 && len(c.tail) == 0:
		return nil, s.fail(ErrNone)
	case badHead:
		l.Findings = append(l.Findings, errHead.Error())
	case h == nil:
		l.remark("there is no head file beside the record: entries taken off its end can't be told; " +
			"hold the last seal against the report's")
	}
	if h != nil && len(c.lines) == h.Entries+1 && len(l.Findings) == 0 {
		l.remark("entry %d fits the chain, and the head file doesn't know it yet: "+
			"the power went in between, or it was added by hand", len(c.lines))
	}
	if len(c.tail) > 0 {
		l.remark("the last line was cut off before it was acknowledged (%d bytes); the next entry sets it aside",
			len(c.tail))
	}
	for i := 1; i < len(l.Entries); i++ {
		if before, e := l.Entries[i-1], l.Entries[i]; e.At.Before(before.At) && len(l.Findings) == 0 {
			l.remark("entry %d has an earlier time than entry %d: a clock was set", e.Number, before.Number)
		}
	}
	return l, nil
}

func (l *Log) remark(format string, args ...any) {
	l.Remarks = append(l.Remarks, fmt.Sprintf(format, args...))
}

// LastSeal is the seal of the last entry, or empty.
func (l *Log) LastSeal() string {
	if len(l.Entries) == 0 {
		return ""
	}
	return l.Entries[len(l.Entries)-1].Seal
}

// Hold adds a finding where no entry has a seal that begins so: a printed report
// holds against a record that was written anew. An empty beginning asks nothing.
func (l *Log) Hold(seal string) {
	for _, e := range l.Entries {
		if strings.HasPrefix(e.Seal, seal) {
			return
		}
	}
	if seal != "" {
		l.Findings = append(l.Findings, fmt.Sprintf(
			"no entry has the seal %s: the record was written anew, or the paper is of another one", seal))
	}
}

// Last gives the last entry that counts with readings and a verdict of one of the kinds,
// or nil.
func (l *Log) Last(kinds ...Kind) *Sealed {
	for i := len(l.Entries) - 1; i >= 0; i-- {
		for _, k := range kinds {
			if e := &l.Entries[i]; e.Kind == k && e.Verdict != nil && l.Counts(e) {
				return e
			}
		}
	}
	return nil
}

// TestsSinceMove gives the results of tests that were noted after the last
// move, and whether anything was moved: those before speak of other wiring. Entries
// that are struck don't count.
func (l *Log) TestsSinceMove() (tests []string, moved bool) {
	for i := range l.Entries {
		e := &l.Entries[i]
		if !l.Counts(e) {
			continue
		}
		if len(e.Moves) > 0 {
			tests, moved = nil, true
		}
		tests = append(tests, e.Tests...)
	}
	return tests, moved
}

// First gives the first entry of a kind that counts with readings and a verdict, or nil.
func (l *Log) First(kind Kind) *Sealed {
	for i := range l.Entries {
		if e := &l.Entries[i]; e.Kind == kind && e.Verdict != nil && l.Counts(e) {
			return e
		}
	}
	return nil
}
