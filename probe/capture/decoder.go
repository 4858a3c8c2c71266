package capture

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/go-json-experiment/json/jsontext"
)

// decoder reads one line of JSON (RFC 8259), which holds objects, lists, numbers
// and texts in known places. The library knows the grammar; what a place takes
// instead of what stands there is said here.
type decoder struct {
	line []byte
	in   bytes.Buffer
	json jsontext.Decoder
}

func (d *decoder) reset(line []byte) {
	d.line = line
	d.in.Reset()
	d.in.Write(line)
	d.json.Reset(&d.in, jsontext.AllowInvalidUTF8(true))
}

var errCut = fmt.Errorf("not JSON: %w", errEndsEarly)

// fieldError says that a value is not what its place takes.
type fieldError struct {
	where string // "channel 2: power: "
	what  string
	whole bool // where is complete
}

func (e *fieldError) Error() string { return e.where + e.what }

func wrong(format string, args ...any) error { return &fieldError{what: fmt.Sprintf(format, args...)} }

// token takes the next token, of one of the kinds that its place takes.
func (d *decoder) token(want, kinds string) (jsontext.Token, error) {
	from := int(d.json.InputOffset())
	t, err := d.json.ReadToken()
	switch {
	case err != nil:
		return t, d.refuse(err, want, from)
	case strings.IndexByte(kinds, byte(t.Kind())) < 0:
		return t, d.isNot(want, d.skip(from, ":,"))
	}
	return t, nil
}

// refuse says in a capture's words what the library found wrong after a place.
func (d *decoder) refuse(err error, want string, from int) error {
	var syntax *jsontext.SyntacticError
	switch {
	case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		return errCut
	case errors.As(err, &syntax) && errors.Is(err, jsontext.ErrDuplicateName):
		return fmt.Errorf("%q stands twice", printable(syntax.JSONPointer.LastToken()))
	case errors.As(err, &syntax) && d.inText(from, int(syntax.ByteOffset)):
		return errors.New("not JSON: a text holds an escape or a character that may not stand there")
	}
	return d.breaks(want, from)
}

// skip gives the place after blanks, and signs between values, from a place on.
func (d *decoder) skip(from int, signs string) int {
	return len(d.line) - len(bytes.TrimLeft(d.line[from:], blanks+signs))
}

// inText reports that a place is within the quotes of the text that stands next.
func (d *decoder) inText(from, at int) bool {
	from = d.skip(from, ":,")
	return from < at && d.line[from] == '"'
}

// breaks says that the line doesn't go on from here as JSON does, or that here
// stands no value, where there is a place for one.
func (d *decoder) breaks(want string, from int) error {
	in, n := d.json.StackIndex(d.json.StackDepth())
	at := d.skip(from, "")
	switch next := n > 0 && (in == '[' || n%2 == 0); {
	case next && d.line[at] == ',':
		at = d.skip(at+1, "")
	case next && in == '[':
		return d.lacks("] or ,", at)
	case next:
		return d.lacks("} or ,", at)
	}
	if in == '{' && n%2 == 0 {
		return d.lacks("a name", at)
	}
	return d.isNot(want, d.skip(at, ":"))
}

func (d *decoder) lacks(what string, at int) error {
	return fmt.Errorf("not JSON: %s should stand at byte %d", what, at+1)
}

// isNot says that the value at a place is of another kind than the place takes.
func (d *decoder) isNot(want string, at int) error {
	value := d.line[at:min(at+20, len(d.line))]
	end := bytes.IndexFunc(value, notOfNumber)
	if end <= 0 {
		end = bytes.IndexAny(value, ",}]")
	}
	if end >= 0 {
		value = value[:max(end, 1)]
	}
	return wrong("%s is not %s", printable(string(value)), want)
}

func notOfNumber(r rune) bool { return r > 'e' || !partOfNumber(byte(r)) }

func partOfNumber(c byte) bool {
	return c >= '0' && c <= '9' || c == '-' || c == '+' || c == '.' || c == 'e' || c == 'E'
}

// members gives each name of an object to value, which takes what stands
// behind it. A null in the place of the object has none.
func (d *decoder) members(value func(name string) error) error {
	open, err := d.token("an object in { }", "{n")
	if err != nil || open.Kind() == 'n' {
		return err
	}
	for {
		t, err := d.token("a name", "\"}")
		if err != nil || t.Kind() == '}' {
			return err
		}
		name := t.String()
		if at := d.skip(int(d.json.InputOffset()), ""); at < len(d.line) && d.line[at] != ':' {
			return d.lacks(":", at) // before a name that isn't known
		}
		err = value(name)
		if e, ok := err.(*fieldError); ok && !e.whole {
			e.where = name + ": " + e.where
		}
		if err != nil {
			return err
		}
	}
}

// elements calls value for each element of a list, which it takes.
func (d *decoder) elements(value func() error) error {
	open, err := d.token("a list in [ ]", "[n")
	for err == nil && open.Kind() == '[' && d.json.PeekKind() != ']' {
		err = value()
	}
	if err == nil && open.Kind() == '[' {
		_, err = d.token("an element", "]")
	}
	return err
}

// number takes a number; known is false for null.
func (d *decoder) number() (x float64, known bool, err error) {
	const want = "a number"
	from := int(d.json.InputOffset())
	t, err := d.token(want, "0n")
	if err != nil || t.Kind() == 'n' {
		return 0, false, err
	}
	switch end := int(d.json.InputOffset()); {
	case end == len(d.line): // a number never ends a line
		return 0, false, errCut
	case partOfNumber(d.line[end]): // of 007 the library takes the first 0
		return 0, false, d.isNot(want, d.skip(from, ":,"))
	}
	if x, err = t.Float(); err != nil {
		return 0, false, wrong("%s is too large", t)
	}
	return x, true, nil
}

// text takes a text; that of a null is empty.
func (d *decoder) text() (string, error) {
	t, err := d.token("a text in quotes", "\"n")
	if err != nil || t.Kind() == 'n' {
		return "", err
	}
	return t.String(), nil
}

// boolean takes true or false; a null is false.
func (d *decoder) boolean() (bool, error) {
	t, err := d.token("true or false", "tfn")
	return err == nil && t.Kind() == 't', err
}

// printable is a text of a file made fit for one line of an error.
func printable(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7F || r == '\uFFFD' {
			return '?'
		}
		return r
	}, strings.ToValidUTF8(s, "?"))
}
