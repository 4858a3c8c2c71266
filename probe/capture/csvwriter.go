package capture

import (
	"fmt"
	"io"
	"strings"

	"legwork/probe/reading"
)

// CSVWriter writes readings as CSV: a header of every point that a meter with
// so many channels may have, then a row a reading, an unknown quantity empty.
// Each row goes out whole, with one Write.
type CSVWriter struct {
	w        io.Writer
	channels int
	columns  []column // of the header
	row      []byte
	last     reading.Reading // kept here, it costs no memory of its own
}

// NewCSVWriter writes to w. The header comes with the first reading.
func NewCSVWriter(w io.Writer) *CSVWriter { return &CSVWriter{w: w} }

// Write adds one reading. One that a capture can't hold is refused, and so is
// one with more channels than the first.
func (c *CSVWriter) Write(r reading.Reading) error {
	if err := canHold(&r); err != nil {
		return err
	}
	c.last = r
	n := len(r.Channels)
	if c.channels == 0 {
		if err := c.header(n); err != nil {
			return err
		}
	}
	if n > c.channels {
		return fmt.Errorf("a reading of %d channels can't be saved under a header of %d", n, c.channels)
	}
	return c.write(func(one *column) { c.field(one.kind, one.get(&c.last)) })
}

func (c *CSVWriter) header(channels int) error {
	c.channels = channels
	for _, one := range columns() {
		if one.once {
			continue
		}
		if one.object == pairs || int(one.object) <= channels {
			c.columns = append(c.columns, one)
		}
	}
	return c.write(func(one *column) { c.row = append(c.row, one.name...) })
}

// write writes a row, a field at a time.
func (c *CSVWriter) write(field func(one *column)) error {
	c.row = c.row[:0]
	for i := range c.columns {
		if i > 0 {
			c.row = append(c.row, ',')
		}
		field(&c.columns[i])
	}
	_, err := c.w.Write(append(c.row, "\r\n"...)) // RFC 4180 ends a row so
	return err
}

// field adds a value; the end of a line within a text becomes a blank, so that a
// row is one line.
func (c *CSVWriter) field(k kind, v value) {
	switch {
	case !v.given:
	case k == number:
		c.row = appendNumber(c.row, v.x)
	case k == truth:
		c.row = append(c.row, "true"...)
	case strings.ContainsAny(v.text, "\r\n\","):
		c.row = append(c.row, `"`+strings.NewReplacer("\r", " ", "\n", " ", `"`, `""`).Replace(v.text)+`"`...)
	default:
		c.row = append(c.row, v.text...)
	}
}
