package capture

import (
	"errors"
	"fmt"

	"legwork/probe/reading"
	"legwork/probe/sheet"
)

// jsonForm reads a reading from a line of JSON.
type jsonForm struct {
	decoder
	columns  []column
	byName   [pairs + 1]map[string]*column // of each object
	r        reading.Reading
	channels int // of the reading before
}

func newJSONForm() *jsonForm {
	f := &jsonForm{columns: columns()}
	for i := range f.columns {
		c := &f.columns[i]
		if f.byName[c.object] == nil {
			f.byName[c.object] = map[string]*column{}
		}
		f.byName[c.object][c.within] = c
	}
	return f
}

func (f *jsonForm) parse(line []byte) (reading.Reading, error) {
	f.reset(line)
	f.r = reading.Reading{Channels: make([]reading.Channel, 0, f.channels)}
	if err := f.members(f.member); err != nil {
		return reading.Reading{}, err
	}
	if f.skip(int(f.json.InputOffset()), "") < len(line) {
		return reading.Reading{}, errors.New("something stands after the reading; write one reading a line")
	}
	if f.channels = len(f.r.Channels); f.channels == 0 {
		return reading.Reading{}, errors.New("the reading has no channels")
	}
	return f.r, nil
}

// member takes the value of one name of the reading.
func (f *jsonForm) member(name string) error {
	switch name {
	case nameChannels:
		return f.elements(f.channel)
	case nameLineVoltage:
		return f.members(func(name string) error { return f.value(pairs, name) })
	}
	return f.value(whole, name)
}

// channel takes one element of channels.
func (f *jsonForm) channel() error {
	n := len(f.r.Channels) + 1
	if n > reading.MaxChannels {
		return wrong("a meter of this kind has at most %d", reading.MaxChannels)
	}
	f.r.Channels = append(f.r.Channels, reading.Channel{})
	err := f.members(func(name string) error { return f.value(object(n), name) })
	if e, ok := err.(*fieldError); ok {
		e.where, e.whole = fmt.Sprintf("channel %d: %s", n, e.where), true
	}
	return err
}

// value takes what stands behind a name of an object. A null and an empty text
// are as if the name weren't there.
func (f *jsonForm) value(o object, name string) (err error) {
	c, ok := f.byName[o][name]
	if !ok {
		return f.unknown(o, name)
	}
	var v value
	switch c.kind {
	case number:
		v.x, v.given, err = f.number()
	case truth:
		v.given, err = f.boolean()
	default:
		v.text, err = f.text()
		v.given = v.text != ""
	}
	if err != nil || !v.given {
		return err
	}
	return c.set(&f.r, v)
}

// unknown is the error for a name that an object can't have.
func (f *jsonForm) unknown(o object, name string) error {
	near := "12, 23 or 31"
	if o != pairs {
		names := []string{nameChannels, nameLineVoltage}[:2*(1-min(o, 1))]
		for _, c := range f.columns {
			if c.object == o {
				names = append(names, c.within)
			}
		}
		near = sheet.Near(printable(name), names)
	}
	if near != "" {
		return fmt.Errorf("%q is not known here; did you mean %s?", printable(name), near)
	}
	return fmt.Errorf("%q is not known here", printable(name))
}
