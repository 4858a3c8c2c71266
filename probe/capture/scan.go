package capture

import (
	"encoding/json"
	"errors"
	"fmt"
	"strconv"
)

// scanner walks over one line of JSON (RFC 8259). The library's decoder needs
// 14 us a reading and says neither where nor what it wants; this one knows that
// a capture holds objects, lists, numbers and texts in known places.
type scanner struct {
	line []byte
	at   int
}

// peek gives the next byte that is no blank, or 0 at the end.
func (s *scanner) peek() byte {
	for s.at < len(s.line) {
		switch c := s.line[s.at]; c {
		case ' ', '\t', '\r', '\n':
			s.at++
		default:
			return c
		}
	}
	return 0
}

// take takes the next byte if it is c.
func (s *scanner) take(c byte) bool {
	if s.peek() != c || s.at == len(s.line) {
		return false
	}
	s.at++
	return true
}

// fieldError says that a value is not what its place takes.
type fieldError struct {
	where string // "channel 2: power: "
	what  string
	whole bool // where is complete
}

func (e *fieldError) Error() string { return e.where + e.what }

func wrong(format string, args ...any) error { return &fieldError{what: fmt.Sprintf(format, args...)} }

// wants says that the line doesn't go on as JSON does.
func (s *scanner) wants(what string) error {
	if s.peek(); s.at >= len(s.line) {
		return fmt.Errorf("not JSON: %w", errEndsEarly)
	}
	return fmt.Errorf("not JSON: %s should stand at byte %d", what, s.at+1)
}

// isNot says that the value here is of another kind than its place takes.
func (s *scanner) isNot(what string) error {
	if s.peek(); s.at >= len(s.line) {
		return fmt.Errorf("not JSON: %w", errEndsEarly)
	}
	end := s.at
	for end < len(s.line) && end < s.at+20 && s.line[end] != ',' && s.line[end] != '}' && s.line[end] != ']' {
		end++
	}
	return wrong("%s is not %s", printable(s.line[s.at:max(end, s.at+1)]), what)
}

// null takes a null if one is next.
func (s *scanner) null() bool {
	return s.peek() == 'n' && s.word("null")
}

// word takes w if it stands here; of one that the line's end cuts it takes
// what there is, so that the line ends early.
func (s *scanner) word(w string) bool {
	n := 0
	for n < len(w) && s.at+n < len(s.line) && s.line[s.at+n] == w[n] {
		n++
	}
	if n == len(w) || s.at+n == len(s.line) {
		s.at += n
	}
	return n == len(w)
}

// members gives each name of an object to value, which takes what stands
// behind it. A null in the place of the object has none.
func (s *scanner) members(value func(name []byte) error) error {
	if s.null() {
		return nil
	}
	if !s.take('{') {
		return s.isNot("an object in { }")
	}
	for first := true; !s.take('}'); first = false {
		if !first && !s.take(',') {
			return s.wants("} or ,")
		}
		if s.peek() != '"' {
			return s.wants("a name")
		}
		name, err := s.quoted()
		if err != nil {
			return err
		}
		if !s.take(':') {
			return s.wants(":")
		}
		if err := value(name); err != nil {
			return err
		}
	}
	return nil
}

// elements calls value for each element of a list, which it takes.
func (s *scanner) elements(value func() error) error {
	if s.null() {
		return nil
	}
	if !s.take('[') {
		return s.isNot("a list in [ ]")
	}
	for first := true; !s.take(']'); first = false {
		if !first && !s.take(',') {
			return s.wants("] or ,")
		}
		if err := value(); err != nil {
			return err
		}
	}
	return nil
}

// number takes a number; known is false for null.
func (s *scanner) number() (x float64, known bool, err error) {
	if s.null() {
		return 0, false, nil
	}
	s.peek()
	from := s.at
	for s.at < len(s.line) && partOfNumber(s.line[s.at]) {
		s.at++
	}
	token := s.line[from:s.at]
	switch {
	case s.at == len(s.line): // a number never ends a line
		return 0, false, fmt.Errorf("not JSON: %w", errEndsEarly)
	case len(token) == 0:
		return 0, false, s.isNot("a number")
	case !isNumber(token):
		return 0, false, wrong("%s is not a number", token)
	}
	x, err = strconv.ParseFloat(string(token), 64)
	if err != nil {
		return 0, false, wrong("%s is too large", token)
	}
	return x, true, nil
}

func partOfNumber(c byte) bool {
	return c >= '0' && c <= '9' || c == '-' || c == '+' || c == '.' || c == 'e' || c == 'E'
}

// isNumber holds a token to the grammar of RFC 8259, section 6, of which what
// the standard library reads as a number is a superset.
func isNumber(t []byte) bool {
	digits := func() bool {
		n := 0
		for n < len(t) && t[n] >= '0' && t[n] <= '9' {
			n++
		}
		t = t[n:]
		return n > 0
	}
	if len(t) > 0 && t[0] == '-' {
		t = t[1:]
	}
	if len(t) > 1 && t[0] == '0' && t[1] >= '0' && t[1] <= '9' || !digits() {
		return false
	}
	if len(t) > 0 && t[0] == '.' {
		if t = t[1:]; !digits() {
			return false
		}
	}
	if len(t) > 0 && (t[0] == 'e' || t[0] == 'E') {
		if t = t[1:]; len(t) > 0 && (t[0] == '+' || t[0] == '-') {
			t = t[1:]
		}
		return digits() && len(t) == 0
	}
	return len(t) == 0
}

// text takes a text; that of a null is empty.
func (s *scanner) text() ([]byte, error) {
	if s.null() {
		return nil, nil
	}
	if s.peek() != '"' {
		return nil, s.isNot("a text in quotes")
	}
	return s.quoted()
}

// quoted takes the quoted text that stands here. It is valid while the line is.
func (s *scanner) quoted() ([]byte, error) {
	from, plain := s.at, true
	for s.at++; s.at < len(s.line); s.at++ {
		switch c := s.line[s.at]; {
		case c == '"':
			s.at++
			return unquote(s.line[from:s.at], plain)
		case c == '\\':
			plain = false
			s.at++
		case c < ' ' || c >= 0x80:
			plain = false
		}
	}
	return nil, fmt.Errorf("not JSON: %w", errEndsEarly)
}

func unquote(token []byte, plain bool) ([]byte, error) {
	if plain {
		return token[1 : len(token)-1], nil
	}
	var text string
	if err := json.Unmarshal(token, &text); err != nil {
		return nil, errors.New("not JSON: a text holds an escape or a character that may not stand there")
	}
	return []byte(text), nil
}

// boolean takes true or false; a null is false.
func (s *scanner) boolean() (bool, error) {
	switch {
	case s.null(), s.peek() == 'f' && s.word("false"):
		return false, nil
	case s.peek() == 't' && s.word("true"):
		return true, nil
	}
	return false, s.isNot("true or false")
}
