package sheet

import (
	"bytes"
	"errors"
	"fmt"

	"github.com/goccy/go-yaml/lexer"
	"github.com/goccy/go-yaml/token"
)

// The limits of a file that a person writes; our choice. The parser's own time
// and memory grow faster than the file where it is deep or long.
const (
	MostBytes = 1 << 20
	MostLines = 10_000 // of YAML
	MostDepth = 20     // of lists and groups within each other
)

const rightFile = "is it the right file?"

// TooLong refuses, as a Problem, what is longer than a file that a person writes.
func TooLong(src []byte) error {
	if len(src) <= MostBytes {
		return nil
	}
	return Problem{fmt.Sprintf("the file has %d bytes or more", len(src)), fmt.Sprintf("at most %d are read; %s", MostBytes, rightFile)}
}

// tooMuch holds a file to every limit there is before it is parsed; line is
// where the first of them is passed, from 1.
func tooMuch(src []byte) (line int, err error) {
	if err := TooLong(src); err != nil {
		return 1, err
	}
	if n := bytes.Count(src, []byte("\n")); n > MostLines {
		return MostLines, Problem{fmt.Sprintf("the file has %d lines", n), fmt.Sprintf("at most %d are read; %s", MostLines, rightFile)}
	}
	if line := tooDeep(src); line > 0 {
		return line, Problem{fmt.Sprintf("lists or groups lie more than %d deep within each other here", MostDepth), rightFile}
	}
	return 0, nil
}

// tooDeep is the line of a token that lies deeper than MostDepth, or 0.
func tooDeep(src []byte) (line int) {
	defer func() { _ = recover() }() // the parser meets the same text, and says what is wrong with it
	var columns []int                // of the lists and groups in block style that are open
	flow := 0
	var before *token.Token
	for _, t := range lexer.Tokenize(string(src)) {
		switch t.Type {
		case token.SequenceStartType, token.MappingStartType:
			flow++
		case token.SequenceEndType, token.MappingEndType:
			flow = max(0, flow-1)
		case token.SequenceEntryType, token.MappingKeyType:
			columns = within(columns, t.Position.Column)
		case token.MappingValueType:
			if before != nil && flow == 0 {
				columns = within(columns, before.Position.Column)
			}
		}
		if len(columns)+flow > MostDepth {
			return t.Position.Line
		}
		before = t
	}
	return 0
}

// within closes what begins at a column or behind it, and opens one there.
func within(columns []int, column int) []int {
	for len(columns) > 0 && columns[len(columns)-1] >= column {
		columns = columns[:len(columns)-1]
	}
	return append(columns, column)
}

// unmarked takes off the byte order mark that some programs put before UTF-8,
// and refuses that of UTF-16.
func unmarked(src []byte) ([]byte, error) {
	if bytes.HasPrefix(src, []byte("\xFF\xFE")) || bytes.HasPrefix(src, []byte("\xFE\xFF")) {
		return nil, errors.New("this is UTF-16; save it as UTF-8")
	}
	return bytes.TrimPrefix(src, []byte("\xEF\xBB\xBF")), nil
}
