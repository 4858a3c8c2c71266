package probe

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"time"

	"legwork/probe/reading"
)

// Capture gives back the readings of a file, one at a time.
type Capture struct {
	name string
	in   *bufio.Reader
	line int
	last time.Time
	csv  *csvHeader // nil for JSON Lines
	row  reading.Reading
}

// mostLine bounds a line of a capture.
const mostLine = 1 << 20

// errNoReadings is what an empty capture gives.
var errNoReadings = errors.New("there are no readings in it; save one with `legwork read METER --save FILE`")

// NewCapture reads a capture of JSON Lines or CSV, whichever it begins like;
// name is what errors call it. An error here or from Next is one line with
// NAME:LINE.
func NewCapture(name string, r io.Reader) (*Capture, error) {
	c := &Capture{name: name, in: bufio.NewReaderSize(r, 64<<10)}
	if mark, err := c.in.Peek(3); err == nil && bytes.Equal(mark, []byte("\xEF\xBB\xBF")) {
		_, _ = c.in.Discard(3) // a byte order mark, as spreadsheets write it
	}
	first, err := c.firstByte()
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	if first == '{' {
		return c, nil
	}
	line, _, err := c.nextLine()
	if err != nil {
		return nil, c.fail(err)
	}
	if c.csv, err = parseHeader(string(line)); err != nil {
		return nil, c.fail(err)
	}
	return c, nil
}

func (c *Capture) firstByte() (byte, error) {
	for n := 1; n <= 4096; n++ {
		ahead, err := c.in.Peek(n)
		if len(ahead) < n {
			if err == nil || errors.Is(err, io.EOF) {
				return 0, errNoReadings
			}
			return 0, err
		}
		if b := ahead[n-1]; b != ' ' && b != '\t' && b != '\r' && b != '\n' {
			return b, nil
		}
	}
	return 0, errors.New("it begins with nothing but blanks; is it a capture?")
}

// Next gives the next reading; io.EOF after the last one. A last line that was
// cut off (a save that lost its power) is told once, after all good ones.
func (c *Capture) Next() (reading.Reading, error) {
	for {
		line, whole, err := c.nextLine()
		if err != nil {
			if errors.Is(err, io.EOF) {
				return reading.Reading{}, io.EOF
			}
			return reading.Reading{}, c.fail(err)
		}
		if len(line) == 0 {
			continue
		}
		r, err := c.parse(line)
		switch {
		case err != nil && !whole:
			return r, c.fail(fmt.Errorf("the last line was cut off; take it out, or use the %d before it", c.line-1))
		case err != nil:
			return r, c.fail(err)
		}
		if err := c.ordered(r.At); err != nil {
			return reading.Reading{}, c.fail(err)
		}
		return r, nil
	}
}

func (c *Capture) parse(line []byte) (reading.Reading, error) {
	if c.csv != nil {
		return c.csv.parse(string(line))
	}
	return parseJSON(line)
}

func (c *Capture) ordered(at time.Time) error {
	if at.Before(c.last) {
		return fmt.Errorf("its time %s is before that of the reading above; a capture is of one meter, in order of time", at.Format(time.RFC3339))
	}
	c.last = at
	return nil
}

// nextLine gives a line without its end, and whether it had one.
func (c *Capture) nextLine() (line []byte, whole bool, err error) {
	c.line++
	for {
		part, err := c.in.ReadSlice('\n')
		line = append(line, part...)
		if len(line) > mostLine {
			return nil, false, fmt.Errorf("a line has over %d bytes; is it a capture?", mostLine)
		}
		switch {
		case err == nil:
			return bytes.TrimSpace(line), true, nil
		case errors.Is(err, bufio.ErrBufferFull):
			continue
		case errors.Is(err, io.EOF) && len(bytes.TrimSpace(line)) > 0:
			return bytes.TrimSpace(line), false, nil
		default:
			return nil, false, err
		}
	}
}

func (c *Capture) fail(err error) error { return fmt.Errorf("%s:%d: %w", c.name, c.line, err) }
