package record

import (
	"bytes"
	"encoding/json"
	"fmt"
)

// line is one line of a record as it stands in the file.
type line struct {
	number int // from 1
	bytes  []byte
	seal   string
	entry  *Entry // nil where the line can't be read
	why    string // it can't
}

// content is a record's file taken apart.
type content struct {
	lines []line
	whole int    // bytes of the whole lines
	tail  []byte // what stands behind them: a line that was cut off
	// unended marks a last line that is whole and lacks only its end.
	unended bool
}

// Newer is the error of a record that a newer legwork wrote.
type Newer struct{ Line, Version int }

// Error says what to do.
func (n Newer) Error() string {
	return fmt.Sprintf("line %d was written by a newer legwork (version %d of the record's format, where this one "+
		"knows %d); use that one, nothing was changed", n.Line, n.Version, Version)
}

// takeApart finds the lines of a file. h may be nil. The error is a Newer.
func takeApart(src []byte, h *head) (*content, error) {
	c := &content{}
	for rest := src; ; {
		text, after, ended := bytes.Cut(rest, []byte("\n"))
		if !ended {
			c.tail = text
			break
		}
		l, err := readLine(len(c.lines)+1, text)
		if err != nil {
			return nil, err
		}
		c.lines = append(c.lines, l)
		c.whole += len(text) + 1
		rest = after
	}
	return c, c.torn(src, h)
}

// torn tells a last line that was cut off from one that stands.
func (c *content) torn(src []byte, h *head) error {
	if len(c.tail) > 0 {
		// What is cut off is no JSON: a line that can be read lacks only its end.
		l, err := readLine(len(c.lines)+1, c.tail)
		if err != nil || l.entry != nil {
			c.lines, c.tail, c.whole, c.unended = append(c.lines, l), nil, len(src), true
			return err
		}
	}
	// A line that was never acknowledged and that can't be read was cut off too:
	// some file systems fill with zeros what was not written before the power went.
	if n := len(c.lines); h != nil && len(c.tail) == 0 && n == h.Entries+1 && c.lines[n-1].entry == nil {
		last := c.lines[n-1]
		c.lines, c.whole = c.lines[:n-1], c.whole-len(last.bytes)-1
		c.tail = src[c.whole:]
	}
	return nil
}

// foreign says why a file is no record of legwork, or nothing: none of its lines
// is an entry, and what was cut off isn't the beginning of one.
func (c *content) foreign() error {
	why := "it is no line of JSON"
	switch {
	case len(c.lines) > 0:
		for _, l := range c.lines {
			if l.entry != nil {
				return nil
			}
		}
		why = c.lines[0].why
	case begun(c.tail):
		return nil
	}
	return fmt.Errorf("this is no record of legwork: %s", why)
}

// begun reports what may be left of the first entry of a record.
func begun(tail []byte) bool {
	const first = `{"legwork-record":`
	n := min(len(tail), len(first))
	return string(tail[:n]) == first[:n] || len(bytes.Trim(tail, "\x00")) == 0
}

// readLine reads one line. The error is a Newer; what else is wrong stands in
// the line.
func readLine(number int, text []byte) (line, error) {
	l := line{number: number, bytes: text, seal: Seal(text)}
	var v struct {
		Version *int `json:"legwork-record"`
	}
	switch err := json.Unmarshal(text, &v); {
	case err != nil:
		l.why = "it is no line of JSON"
	case v.Version == nil:
		l.why = "it doesn't say legwork-record"
	case *v.Version > Version:
		return l, Newer{number, *v.Version}
	case *v.Version < Version:
		l.why = fmt.Sprintf("version %d of the record's format is not known", *v.Version)
	}
	if l.why != "" {
		return l, nil
	}
	e := new(Entry)
	if err := json.Unmarshal(text, e); err != nil {
		l.why = "it is no entry: " + err.Error()
		return l, nil
	}
	l.entry = e
	return l, nil
}
