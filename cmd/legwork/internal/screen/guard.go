package screen

import (
	"bytes"
	"fmt"
	"io"
	"strings"
	"unicode"
	"unicode/utf16"
	"unicode/utf8"
)

// Guard is the way to a terminal. What files, meters and people wrote goes
// through it, and can't steer the terminal nor look like something else: control
// characters, those that turn the direction of writing or that nobody sees
// (Unicode 15, UAX 9; categories Cc and Cf) and bytes that aren't UTF-8 are
// written as escapes, such as \u202e, which JSON reads back.
type Guard struct {
	To io.Writer
	// Colours lets the sequences of Style through.
	Colours bool
	// Columns is how wide the terminal is, whose lines are folded between words; 0
	// leaves them as they are.
	Columns int
	Err     error // the first of the writer behind
}

// Write writes all of b, or gives the error of the writer behind.
func (g *Guard) Write(b []byte) (int, error) {
	text := b
	if g.Columns > 0 {
		text = []byte(foldLines(string(b), g.Columns))
	}
	if !harmless(text) {
		text = g.guarded(text)
	}
	if _, err := g.To.Write(text); err != nil {
		return 0, g.keep(err)
	}
	return len(b), nil
}

// guarded is b with escapes for what a terminal must not get.
func (g *Guard) guarded(b []byte) []byte {
	var out bytes.Buffer
	for rest := b; len(rest) > 0; {
		if n := g.colour(rest); n > 0 {
			out.Write(rest[:n])
			rest = rest[n:]
			continue
		}
		r, n := utf8.DecodeRune(rest)
		if r == utf8.RuneError && n == 1 {
			r = rune(rest[0]) // what a terminal of 8 bits would take it for
		}
		escape(&out, r, r == rune(rest[0]) && n == 1 && r >= utf8.RuneSelf)
		rest = rest[n:]
	}
	return out.Bytes()
}

func (g *Guard) keep(err error) error {
	if g.Err == nil {
		g.Err = err
	}
	return err
}

// colour is the length of a sequence of Style at the beginning of b, or 0.
func (g *Guard) colour(b []byte) int {
	if !g.Colours || len(b) < 4 || b[0] != 0x1b || b[1] != '[' {
		return 0
	}
	for i, c := range b[2:min(len(b), 12)] {
		if c == 'm' {
			return i + 3
		}
		if c != ';' && (c < '0' || c > '9') {
			return 0
		}
	}
	return 0
}

// Word is a text as Guard writes it, for what is laid out before it is written.
func Word(s string) string {
	if strings.IndexFunc(s, func(r rune) bool { return r == utf8.RuneError || hidden(r) }) < 0 {
		return s
	}
	var out bytes.Buffer
	for _, r := range s {
		escape(&out, r, false)
	}
	return out.String()
}

// OneLine is Word without the ends of lines.
func OneLine(s string) string { return Word(ends.Replace(s)) }

var ends = strings.NewReplacer("\n", " ", "\t", " ")

func escape(out *bytes.Buffer, r rune, always bool) {
	switch {
	case !always && !hidden(r):
		out.WriteRune(r)
	case r > 0xffff:
		a, b := utf16.EncodeRune(r)
		fmt.Fprintf(out, `\u%04x\u%04x`, a, b)
	default:
		fmt.Fprintf(out, `\u%04x`, r)
	}
}

// hidden reports what must not reach a terminal. The joiners of scripts that
// need them and the soft hyphen may.
func hidden(r rune) bool {
	switch r {
	case '\n', '\t', '\u00ad', '\u200c', '\u200d':
		return false
	case '\u2028', '\u2029':
		return true
	}
	return unicode.In(r, unicode.Cc, unicode.Cf)
}

func harmless(b []byte) bool {
	for _, c := range b {
		if c >= 0x7f || c < ' ' && c != '\n' && c != '\t' {
			return false
		}
	}
	return true
}
