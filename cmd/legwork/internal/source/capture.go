package source

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"syscall"

	"legwork/diagnose/wiring"
	"legwork/probe/capture"
	"legwork/probe/reading"
)

// replay is a source that replays a file.
type replay struct {
	*capture.Reader
	past
	file  io.Closer
	from  *os.File // nil of standard input that is no file
	found string   // the last service that the file was seen to name
	one   capture.OneMeter
}

// File is the file that a source replays, or nil.
func File(s Source) *os.File {
	if c, ok := s.(*replay); ok {
		return c.from
	}
	return nil
}

// Line gives the line of the reading that a source gave last, where it, or one that it
// hands on as its Under, replays a file; else nil.
func Line(s Source) func() int {
	for {
		switch of := s.(type) {
		case interface{ Line() int }:
			return of.Line
		case interface{ Under() Source }:
			s = of.Under()
		default:
			return nil
		}
	}
}

func openCapture(a Address, o Options) (Source, error) {
	if o.Map != "" {
		return nil, fmt.Errorf("--map is for meters; a capture such as %s holds readings already", a.Name)
	}
	if a.Name == "-" {
		c, err := capture.NewReader("standard input", o.Stdin)
		if err != nil {
			return nil, err
		}
		from, _ := o.Stdin.(*os.File)
		return &replay{Reader: c, past: past{o.Service}, file: io.NopCloser(nil), from: from}, nil
	}
	f, err := os.Open(a.Name)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", a.Name, plain(err))
	}
	c, err := capture.NewReader(a.Name, f)
	if err != nil {
		_ = f.Close()
		return nil, err
	}
	return &replay{Reader: c, past: past{o.Service}, file: f, from: f}, nil
}

// Next gives the next reading.
func (c *replay) Next(ctx context.Context) (reading.Reading, error) {
	if ctx.Err() != nil {
		return reading.Reading{}, ctx.Err()
	}
	r, err := c.Reader.Next()
	if err != nil {
		return r, err
	}
	if err := c.known(r.Service); err != nil {
		return reading.Reading{}, c.Fail(err)
	}
	of := r
	if c.service != "" {
		of.Service = c.service
	}
	if err := c.one.Check(&of, c.Line()); err != nil {
		return reading.Reading{}, c.Fail(err)
	}
	return r, nil
}

// known refuses a service of the file that nobody knows, unless one is declared,
// which goes before it.
func (c *replay) known(service string) error {
	if service == "" || service == c.found || c.service != "" {
		return nil
	}
	c.found = service
	_, err := wiring.ParseService(service)
	if err != nil {
		err = fmt.Errorf("%w; mend the line, or declare one with --service", err)
	}
	return err
}

// past is of readings that were taken before; service is what is declared on the
// command line, or empty.
type past struct{ service string }

// Live is false.
func (past) Live() bool { return false }

// Service is what is declared on the command line, or empty.
func (p past) Service() string { return p.service }

// Close closes the file.
func (c *replay) Close() error { return c.file.Close() }

// plain says what is wrong with a file in few words.
func plain(err error) error {
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return errors.New("there is no such file")
	case errors.Is(err, fs.ErrPermission):
		return errors.New("this user may not read it")
	case errors.Is(err, syscall.EISDIR):
		return errors.New("this is a folder, not a file")
	}
	return Bare(err)
}

// Bare takes the name of the file out of an error, which says it already.
func Bare(err error) error {
	if path, ok := errors.AsType[*fs.PathError](err); ok {
		return path.Err
	}
	return err
}
