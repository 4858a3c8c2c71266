package capture

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"time"

	"legwork/probe/reading"
)

// Reader gives back the readings of a file, one at a time, in memory that
// doesn't grow with the file.
type Reader struct {
	name  string
	lines *lines
	form  form

	last     time.Time
	readings int
	fewest   int // channels of a reading
	most     int
}

// form is how a capture writes a reading on a line. parse gives an error
// around errEndsEarly when the line stops before the reading is whole.
type form interface {
	parse(line []byte) (reading.Reading, error)
}

// ErrCut is within the error that Next gives for a last line that was cut off,
// as by a save that lost its power. The readings before it are good.
var ErrCut = errors.New("the last line was cut off")

var (
	errEndsEarly  = errors.New("the line ends too early")
	errNoReadings = errors.New("there are no readings in it; save one with `legwork read METER --save FILE`")
	errNoTime     = errors.New("the reading has no time; give `at`, such as 2026-05-04T09:30:00Z")
)

// NewReader reads a capture of JSON Lines or CSV, whichever it begins like;
// name is what errors call it. An error here or from Next is one line that
// begins with NAME, and with NAME:LINE where one line is at fault.
func NewReader(name string, r io.Reader) (*Reader, error) {
	c := &Reader{name: name, lines: newLines(r)}
	first, err := c.lines.first()
	switch {
	case errors.Is(err, io.EOF):
		return nil, fmt.Errorf("%s: %w", name, errNoReadings)
	case err != nil:
		return nil, fmt.Errorf("%s: %w", name, err)
	case first == '{':
		c.form = newJSONForm()
		return c, nil
	}
	line, _, err := c.lines.next()
	if err == nil {
		c.form, err = newCSVForm(line)
	}
	if err != nil {
		return nil, c.fail(err)
	}
	return c, nil
}

// Next gives the next reading, which is the caller's to keep; io.EOF after the
// last one. After any error there is no more.
func (c *Reader) Next() (reading.Reading, error) {
	for {
		line, open, err := c.lines.next()
		if err != nil {
			return reading.Reading{}, c.end(err)
		}
		if len(line) == 0 {
			continue
		}
		r, err := c.form.parse(line)
		if err != nil && open && isCut(line, err) {
			err = fmt.Errorf("%w; the %d before it are good: take it out to use them", ErrCut, c.readings)
			return reading.Reading{}, c.fail(err)
		}
		if err == nil {
			err = c.admit(&r)
		}
		if err != nil {
			return reading.Reading{}, c.fail(err)
		}
		return r, nil
	}
}

// isCut tells a line that was cut off from one that is wrong. Some file
// systems fill up with zeros what was not written before the power went.
func isCut(line []byte, err error) bool {
	return errors.Is(err, errEndsEarly) || bytes.IndexByte(line, 0) >= 0
}

// admit keeps the order of time and counts.
func (c *Reader) admit(r *reading.Reading) error {
	if r.At.IsZero() {
		return errNoTime
	}
	if r.At.Before(c.last) {
		return fmt.Errorf("its time %s is before that of the reading above; a capture is of one meter, in order of time",
			r.At.Format(time.RFC3339Nano))
	}
	n := len(r.Channels)
	if c.readings == 0 {
		c.fewest = n
	}
	c.fewest, c.most = min(c.fewest, n), max(c.most, n)
	c.last = r.At
	c.readings++
	return nil
}

// Line is where the last reading stands, from 1.
func (c *Reader) Line() int { return c.lines.number }

// Fail gives an error the place of the last reading.
func (c *Reader) Fail(err error) error { return c.fail(err) }

// Channels gives the fewest and the most channels that a reading had so far.
// They differ in a capture that is hardly of one meter.
func (c *Reader) Channels() (fewest, most int) { return c.fewest, c.most }

func (c *Reader) end(err error) error {
	switch {
	case !errors.Is(err, io.EOF):
		return c.fail(err)
	case c.readings == 0:
		return fmt.Errorf("%s: %w", c.name, errNoReadings)
	}
	return io.EOF
}

func (c *Reader) fail(err error) error {
	return fmt.Errorf("%s:%d: %w", c.name, c.lines.number, err)
}
