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
	points   []reading.Point // the columns of the header
	row      []byte
}

// NewCSVWriter writes to w. The header comes with the first reading.
func NewCSVWriter(w io.Writer) *CSVWriter { return &CSVWriter{w: w} }

// Write adds one reading. One that a capture can't hold is refused, and so is
// one with more channels than the first.
func (c *CSVWriter) Write(r reading.Reading) error {
	at, err := timeOf(&r)
	if err != nil {
		return err
	}
	n := len(r.Channels)
	if c.channels == 0 {
		c.channels = n
		if _, err := c.w.Write(c.header()); err != nil {
			return err
		}
	}
	if n > c.channels {
		return fmt.Errorf("a reading of %d channels can't be saved under a header of %d", n, c.channels)
	}
	_, err = c.w.Write(c.fill(&r, at))
	return err
}

func (c *CSVWriter) header() []byte {
	c.row = append(append(c.row[:0], nameAt+","...), nameService...)
	for _, p := range reading.Points() {
		if p.Channel() > c.channels {
			continue
		}
		c.points = append(c.points, p)
		c.row = append(append(c.row, ','), p.String()...)
	}
	for k := range c.channels {
		c.row = fmt.Appendf(c.row, ",%s.%d,%s.%d", namePFSign, k+1, nameReactiveUnsigned, k+1)
	}
	return append(c.row, ","+nameSkew+"\r\n"...) // RFC 4180 ends a row so
}

func (c *CSVWriter) fill(r *reading.Reading, at string) []byte {
	c.row = append(append(c.row[:0], at...), ',')
	c.text(r.Service)
	for _, p := range c.points {
		c.row = append(c.row, ',')
		c.text(r.Text(p))
		c.number(r.Number(p))
	}
	for k := range c.channels {
		c.row = append(c.row, ',')
		if k < len(r.Channels) {
			c.text(powerFactorSignName(r.Channels[k].PowerFactorSign))
		}
		c.row = append(c.row, ',')
		if k < len(r.Channels) && r.Channels[k].ReactiveUnsigned {
			c.row = append(c.row, "true"...)
		}
	}
	c.row = append(c.row, ',')
	c.number(skewMS(r))
	return append(c.row, "\r\n"...)
}

func (c *CSVWriter) number(v reading.Value) {
	if x, ok := v.Get(); ok {
		c.row = appendNumber(c.row, x)
	}
}

// text adds a field; the end of a line within it becomes a blank, so that a
// row is one line.
func (c *CSVWriter) text(s string) {
	if strings.ContainsAny(s, "\r\n\",") {
		s = `"` + strings.NewReplacer("\r", " ", "\n", " ", `"`, `""`).Replace(s) + `"`
	}
	c.row = append(c.row, s...)
}
