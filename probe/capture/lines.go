package capture

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"
)

// mostLine bounds a line of a capture, so that a file that is none is not
// taken into memory.
const mostLine = 1 << 20

// blanks are those of JSON (RFC 8259, section 2).
const blanks = " \t\r\n"

// lines gives the lines of a file one after the other.
type lines struct {
	in     *bufio.Reader
	number int    // of the last line given, from 1
	long   []byte // a line that was longer than the buffer
}

func newLines(r io.Reader) *lines { return &lines{in: bufio.NewReaderSize(r, 64<<10)} }

// next gives a line without the blanks around it, valid until the next call,
// and whether the file ended before the line did. Then comes io.EOF.
func (l *lines) next() (line []byte, open bool, err error) {
	l.number++
	line, err = l.in.ReadSlice('\n')
	if errors.Is(err, bufio.ErrBufferFull) {
		line, err = l.collect(line)
	}
	open = errors.Is(err, io.EOF)
	if err != nil && (!open || len(line) == 0) {
		return nil, false, err
	}
	return bytes.Trim(line, blanks), open, nil
}

// collect puts together a line that is longer than the buffer.
func (l *lines) collect(part []byte) ([]byte, error) {
	l.long = append(l.long[:0], part...)
	for {
		part, err := l.in.ReadSlice('\n')
		l.long = append(l.long, part...)
		if len(l.long) > mostLine {
			return nil, fmt.Errorf("a line is longer than %d bytes; is this a capture?", mostLine)
		}
		if !errors.Is(err, bufio.ErrBufferFull) {
			return l.long, err
		}
	}
}

// first gives the first byte that is no blank, without taking it. Of a file
// that holds nothing else it gives io.EOF.
func (l *lines) first() (byte, error) {
	if err := l.mark(); err != nil {
		return 0, err
	}
	for {
		ahead, err := l.in.Peek(1)
		switch {
		case err != nil:
			return 0, err
		case ahead[0] == '\n':
			l.number++
		case strings.IndexByte(blanks, ahead[0]) < 0:
			return ahead[0], nil
		}
		_, _ = l.in.Discard(1)
	}
}

// mark skips the byte order mark that some programs put before UTF-8, and
// refuses that of UTF-16.
func (l *lines) mark() error {
	ahead, _ := l.in.Peek(3) // fewer at the end of the file
	switch {
	case bytes.HasPrefix(ahead, []byte("\xEF\xBB\xBF")):
		_, _ = l.in.Discard(3)
	case bytes.HasPrefix(ahead, []byte("\xFF\xFE")), bytes.HasPrefix(ahead, []byte("\xFE\xFF")):
		return errors.New("this is UTF-16; save it as UTF-8")
	}
	return nil
}
