package sheet

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/token"
)

// Table is a CSV file (RFC 4180) as a list of mappings: each row has its fields
// under the names of the header, an empty one as if it weren't there. So a table
// is read by the struct that also reads the list of a YAML file.
type Table struct {
	sheet *Sheet
	in    *csv.Reader

	Names []string // of the header
	Rows  []Node
}

// Columns are those that a table may have.
type Columns struct {
	Known []string
	Such  string // a header that would do
}

// OpenTable reads a table of some of the columns. What is wrong stands in Err; a
// table whose header is wrong has no rows.
func OpenTable(file string, src []byte, c Columns) *Table {
	t := &Table{sheet: newSheet(file)}
	if err := TooLong(src); err != nil {
		t.Root().Refuse(err)
		return t
	}
	t.in = csv.NewReader(bytes.NewReader(bytes.TrimPrefix(src, []byte("\ufeff"))))
	t.in.TrimLeadingSpace = true
	if t.header(c) {
		for t.row() {
		}
	}
	return t
}

// Root is where to report what is wrong with the whole table.
func (t *Table) Root() Node { return Node{sheet: t.sheet} }

// Err gives every fault that was found, as a *Faults, or nil.
func (t *Table) Err() error { return t.sheet.Err() }

// next gives the fields of a row, or reports why there are none; more is false
// after the last row, and where the file can't be read on.
func (t *Table) next() (fields []string, more bool) {
	row, err := t.in.Read()
	var wrong *csv.ParseError
	switch {
	case err == nil:
		return row, true
	case errors.Is(err, csv.ErrFieldCount):
		line, _ := t.in.FieldPos(0)
		t.Root().FaultAt(line, 1, fmt.Sprintf("%d fields, but the header has %d columns", len(row), len(t.Names)),
			"leave a field empty where a value isn't known; quote numbers that hold a comma")
		return nil, true
	case errors.As(err, &wrong):
		t.Root().FaultAt(wrong.Line, wrong.Column, "not CSV here: "+wrong.Err.Error(), "check the quotes")
	case !errors.Is(err, io.EOF):
		t.Root().Fault("not CSV: "+err.Error(), "is it the right file?")
	}
	return nil, false
}

func (t *Table) header(c Columns) bool {
	names, _ := t.next()
	switch {
	case len(names) == 0:
		t.Root().Fault("the file is empty", "begin with a header: "+c.Such)
		return false
	case len(names) == 1 && strings.ContainsAny(names[0], ";\t"):
		t.Root().Fault("its columns are parted by semicolons or tabs", "save it with commas")
		return false
	}
	for i, name := range names {
		name = strings.TrimSpace(name)
		line, column := t.in.FieldPos(i)
		switch {
		case slices.Contains(t.Names, name):
			t.Root().FaultAt(line, column, fmt.Sprintf("column %q stands twice", name), "keep one of them")
		case !slices.Contains(c.Known, name):
			t.Root().FaultAt(line, column, fmt.Sprintf("%q is not known here", name), Suggest(name, c.Known))
		}
		t.Names = append(t.Names, name)
	}
	return t.sheet.faults.List == nil
}

// row adds one, and reports whether there may be more.
func (t *Table) row() bool {
	fields, more := t.next()
	if fields == nil {
		return more
	}
	line, _ := t.in.FieldPos(0)
	var values []*ast.MappingValueNode
	for i, field := range fields {
		if field = strings.TrimSpace(field); field != "" {
			at := &token.Position{}
			at.Line, at.Column = t.in.FieldPos(i)
			value := textAt(field, at)
			values = append(values, ast.MappingValue(value.Token, textAt(t.Names[i], at), value))
		}
	}
	row := ast.Mapping(textAt("", &token.Position{Line: line, Column: 1}).Token, false, values...)
	t.Rows = append(t.Rows, Node{sheet: t.sheet, node: row})
	return true
}

func textAt(text string, at *token.Position) *ast.StringNode {
	return ast.String(&token.Token{Type: token.StringType, Value: text, Position: at})
}
