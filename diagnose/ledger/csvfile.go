package ledger

import (
	"bytes"
	"cmp"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"legwork/probe/sheet"
)

// ParseCSV reads a ledger from a table: a header with `at` and registers such as
// kWh.1, and `multiplier`, `digits`, `replaced` where wanted; an empty field isn't
// known. The error is a *sheet.Faults with all that is wrong.
func ParseCSV(file string, src []byte) (*Ledger, error) {
	t := &table{file: file, of: defaults{multiplier: 1}}
	k := &keeper{ledger: &Ledger{}, fault: t.faultAt}
	if len(src) > sheet.MostBytes {
		t.faultAt(1, 1, fmt.Sprintf("the file has %d bytes", len(src)), fmt.Sprintf("at most %d are read; is it the right file?", sheet.MostBytes))
		return nil, &t.faults
	}
	t.in = csv.NewReader(bytes.NewReader(bytes.TrimPrefix(src, []byte("\ufeff"))))
	t.in.TrimLeadingSpace = true
	if t.header() {
		for t.row(k) {
		}
		k.end()
	}
	if len(t.faults.List) > 0 {
		slices.SortStableFunc(t.faults.List, func(a, b sheet.Fault) int {
			return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column))
		})
		return nil, &t.faults
	}
	return k.ledger, nil
}

// table is a CSV file while it is read.
type table struct {
	file   string
	in     *csv.Reader
	names  []string
	of     defaults
	faults sheet.Faults
}

// mostFaults are reported; a file with more has one cause.
const mostFaults = 50

func (t *table) faultAt(line, column int, what, mend string) {
	if len(t.faults.List) < mostFaults {
		t.faults.List = append(t.faults.List, sheet.Fault{File: t.file, Line: line, Column: column, What: what, Mend: mend})
	}
}

// next gives a row, or reports why there is none.
func (t *table) next() []string {
	row, err := t.in.Read()
	var wrong *csv.ParseError
	switch {
	case err == nil:
		return row
	case errors.Is(err, csv.ErrFieldCount):
		line, _ := t.in.FieldPos(0)
		t.faultAt(line, 1, fmt.Sprintf("%d fields, but the header has %d columns", len(row), len(t.names)), "leave a field empty where a value isn't known; quote numbers that hold a comma")
		return []string{}
	case errors.As(err, &wrong):
		t.faultAt(wrong.Line, wrong.Column, "not CSV here: "+wrong.Err.Error(), "check the quotes")
	case !errors.Is(err, io.EOF):
		t.faultAt(1, 1, "not CSV: "+err.Error(), "is it the right file?")
	}
	return nil
}

func (t *table) header() bool {
	t.names = t.next()
	if len(t.names) == 0 {
		t.faultAt(1, 1, "the file is empty", "begin with a header: at,kWh")
		return false
	}
	known := []string{"at", "multiplier", "digits", "replaced"}
	for _, r := range Registers() {
		known = append(known, r.String())
	}
	if len(t.names) == 1 && strings.ContainsAny(t.names[0], ";\t") {
		t.faultAt(1, 1, "its columns are parted by semicolons or tabs", "save it with commas")
		return false
	}
	seen, registers := map[string]bool{}, 0
	for i, name := range t.names {
		name = strings.TrimSpace(name)
		t.names[i] = name
		line, column := t.in.FieldPos(i)
		switch {
		case seen[name]:
			t.faultAt(line, column, fmt.Sprintf("column %q stands twice", name), "keep one of them")
		case !slices.Contains(known, name):
			t.faultAt(line, column, fmt.Sprintf("%q is not known here", name), hint(name, known))
		case strings.HasPrefix(name, "k"):
			registers++
		}
		seen[name] = true
	}
	if !seen["at"] || registers == 0 {
		t.faultAt(1, 1, "the header lacks `at` or a register", "begin with a header such as at,kWh,kWh.1,kWh.2,kWh.3")
	}
	return len(t.faults.List) == 0
}

func hint(name string, known []string) string {
	if near := sheet.Near(name, known); near != "" {
		return "did you mean " + near + "?"
	}
	return "known are " + strings.Join(known, ", ")
}

// row reads one visit and reports whether there may be more.
func (t *table) row(k *keeper) bool {
	fields := t.next()
	if fields == nil {
		return false
	}
	if len(fields) == 0 {
		return true // reported
	}
	line, _ := t.in.FieldPos(0)
	e := Entry{Line: line, Figures: map[Register]Figure{}}
	at := stamp{}
	text := map[string]string{}
	column := map[string]int{}
	for i, name := range t.names {
		text[name] = strings.TrimSpace(fields[i])
		_, column[name] = t.in.FieldPos(i)
	}
	c := &cells{t, line, text, column}
	cell(c, "at", parseTime, &at)
	if text["at"] == "" {
		t.faultAt(line, column["at"], "the read has no time", "write it as 2026-05-04T09:30:00Z")
	}
	cell(c, "multiplier", parseMultiplier, &t.of.multiplier)
	cell(c, "digits", parseDigits, &t.of.digits)
	cell(c, "replaced", parseReplaced, &e.Replaced)
	e.Multiplier, e.Digits = t.of.multiplier, t.of.digits
	for _, r := range Registers() {
		var x Figure
		if cell(c, r.String(), func(s string) (Figure, error) { return parseFigure(s, r.Unit, e.Digits) }, &x) {
			e.Figures[r] = x
		}
	}
	k.add(e, at, line, 1)
	return true
}

// cells are the fields of one row, by name.
type cells struct {
	table  *table
	line   int
	text   map[string]string
	column map[string]int
}

// cell parses a field into a value; it reports whether one stands there.
func cell[T any](c *cells, name string, parse func(string) (T, error), into *T) bool {
	text := c.text[name]
	if text == "" {
		return false
	}
	x, err := parse(text)
	if err != nil {
		what, mend, _ := strings.Cut(err.Error(), "; ")
		c.table.faultAt(c.line, c.column[name], what, mend)
		return true
	}
	*into = x
	return true
}
