package save

import (
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"legwork/probe/capture"
	"legwork/probe/reading"
)

// last is what a capture says of its meter, as far as it was read.
type last struct {
	at                        time.Time
	serial, model, meter, reg string
}

// placed is an error that names file and line already.
type placed struct{ error }

// look reads the capture that is there to its end.
func (s *Saver) look(f *os.File) error {
	c, err := capture.NewReader(s.o.Name, io.NewSectionReader(f, 0, s.size))
	var r reading.Reading
	for err == nil {
		if r, err = c.Next(); err == nil {
			s.before.take(&r)
		}
	}
	if !errors.Is(err, io.EOF) {
		return placed{fmt.Errorf("%w; nothing was added", err)}
	}
	end := make([]byte, 1)
	if _, err := f.ReadAt(end, s.size-1); err != nil {
		return err
	}
	s.open = end[0] != '\n'
	if now := s.o.Now(); s.o.Live && s.before.at.After(now) {
		return fmt.Errorf("its last reading is of %s, later than this machine's clock (%s); set the clock, or choose another "+
			"file", s.before.at.Format(time.RFC3339), now.Format(time.RFC3339))
	}
	if s.before.serial == "" { // a serial number decides, once a reading has one
		return s.before.same(&reading.Reading{Meter: s.o.Meter, Map: s.o.Map})
	}
	return nil
}

// take notes what a reading says.
func (l *last) take(r *reading.Reading) {
	l.at = r.At
	for _, one := range []struct {
		into *string
		says string
	}{{&l.serial, r.Serial}, {&l.model, r.Model}, {&l.meter, r.Meter}, {&l.reg, r.Map}} {
		if one.says != "" {
			*one.into = one.says
		}
	}
}

// goesOn says why a reading doesn't go on from the last one, if it doesn't.
func (l *last) goesOn(r *reading.Reading) error {
	if r.At.Before(l.at) {
		return fmt.Errorf("a reading of %s doesn't go behind one of %s: a clock was set back, or it is of another time; "+
			"choose another file", r.At.Format(time.RFC3339Nano), l.at.Format(time.RFC3339Nano))
	}
	return l.same(r)
}

// same says why a reading is of another meter. The same serial number is the
// same meter, wherever it is asked.
func (l *last) same(r *reading.Reading) error {
	other := func(was, is string) bool { return was != "" && is != "" && was != is }
	named := l.serial != "" && l.serial == r.Serial
	for _, one := range []struct {
		what, was, is string
		differs       bool
	}{
		{"serial number", l.serial, r.Serial, other(l.serial, r.Serial)},
		{"model", l.model, r.Model, other(l.model, r.Model)},
		{"METER", l.meter, r.Meter, !named && other(l.meter, r.Meter)},
		{"register map", l.reg, r.Map, other(l.reg, r.Map)},
	} {
		if one.differs {
			return fmt.Errorf("it holds readings of another meter (%s %q, where this one has %q); choose another file",
				one.what, one.was, one.is)
		}
	}
	return nil
}
