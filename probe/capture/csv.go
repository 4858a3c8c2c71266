package capture

import (
	"bytes"
	"cmp"
	"encoding/csv"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"legwork/probe/reading"
	"legwork/probe/sheet"
)

// csvForm reads a reading from a row of CSV (RFC 4180, but a quoted field
// can't hold the end of a line).
type csvForm struct {
	columns  []*column
	channels int
	fields   [][]byte // of the row, kept for the next
}

var errNoCapture = errors.New("this is neither a line of JSON nor a CSV header with `at` and points such as voltage.1")

func newCSVForm(line []byte) (*csvForm, error) {
	fields, err := split(nil, line)
	switch {
	case line[0] == '[':
		return nil, errors.New("this is a list in JSON; a capture has one reading a line, " +
			"without the [ ] and commas between them")
	case err != nil:
		return nil, err
	case len(fields) == 1 && bytes.IndexByte(line, ';') >= 0:
		return nil, errors.New("its columns are parted by semicolons; save it with commas, and with points in the numbers")
	}
	f, all := &csvForm{}, columns()
	for _, field := range fields {
		if err := f.add(string(bytes.TrimSpace(field)), all); err != nil {
			return nil, err
		}
	}
	if f.channels == 0 || !slices.ContainsFunc(f.columns, func(c *column) bool { return c.name == nameAt }) {
		return nil, errNoCapture
	}
	return f, nil
}

// add adds the column of a name.
func (f *csvForm) add(name string, all []column) error {
	i := slices.IndexFunc(all, func(c column) bool { return c.name == name })
	if i < 0 {
		return unknownColumn(name, all)
	}
	c := &all[i]
	if slices.Contains(f.columns, c) {
		return fmt.Errorf("column %q stands twice", printable(name))
	}
	f.columns = append(f.columns, c)
	if c.object < pairs {
		f.channels = max(f.channels, int(c.object))
	}
	return nil
}

func unknownColumn(name string, all []column) error {
	names := make([]string, len(all))
	for i, c := range all {
		names[i] = c.name
	}
	_, err := reading.ParsePoint(name) // says what is wrong with one that is nearly right
	hint := cmp.Or(sheet.DidYouMean(name, names), "a header has `at` and points such as voltage.1")
	return fmt.Errorf("column %w; %s", err, hint)
}

func (f *csvForm) parse(line []byte) (reading.Reading, error) {
	fields, err := split(f.fields[:0], line)
	if err != nil {
		return reading.Reading{}, err
	}
	f.fields = fields
	if len(fields) < len(f.columns) {
		return reading.Reading{}, fmt.Errorf("%w, after %d of %d columns", errEndsEarly, len(fields), len(f.columns))
	}
	if len(fields) > len(f.columns) {
		return reading.Reading{}, fmt.Errorf("%d fields, but the header has %d columns", len(fields), len(f.columns))
	}
	r := reading.Reading{Channels: make([]reading.Channel, f.channels)}
	for i, field := range fields {
		if field = bytes.TrimSpace(field); len(field) == 0 {
			continue
		}
		if err := f.columns[i].read(&r, field); err != nil {
			return r, fmt.Errorf("%s: %w", f.columns[i].name, err)
		}
	}
	return r, nil
}

// split adds the fields of a row to into. Rows without quotes, which is nearly
// all, are not copied.
func split(into [][]byte, line []byte) ([][]byte, error) {
	if bytes.IndexByte(line, '"') >= 0 {
		return splitQuoted(into, line)
	}
	for {
		field, rest, more := bytes.Cut(line, []byte{','})
		into = append(into, field)
		if !more {
			return into, nil
		}
		line = rest
	}
}

func splitQuoted(into [][]byte, line []byte) ([][]byte, error) {
	if bytes.Count(line, []byte{'"'})%2 != 0 {
		return nil, fmt.Errorf("not CSV: a quote stays open, %w", errEndsEarly)
	}
	fields, err := csv.NewReader(bytes.NewReader(line)).Read()
	if at, ok := errors.AsType[*csv.ParseError](err); ok {
		return nil, fmt.Errorf("not CSV: a quote stands where none may, at byte %d", at.Column)
	}
	if err != nil {
		return nil, fmt.Errorf("not CSV: %w", err)
	}
	for _, field := range fields {
		into = append(into, []byte(field))
	}
	return into, nil
}

// read takes the field of a row that isn't empty.
func (c *column) read(r *reading.Reading, field []byte) (err error) {
	v := value{given: true}
	switch c.kind {
	case number:
		v.x, err = parseNumber(field)
	case truth:
		v.text = strings.ToLower(string(field)) // spreadsheets write TRUE
		if v.given = v.text == "true"; !v.given && v.text != "false" {
			err = fmt.Errorf("%q is not true or false", printable(string(field)))
		}
	default:
		v.text = string(field)
	}
	if err != nil || !v.given {
		return err
	}
	return c.set(r, v)
}

// parseNumber takes digits, a point, signs and an exponent: what spreadsheets
// write, and not the names, underscores and bases that the library reads too.
func parseNumber(field []byte) (float64, error) {
	for _, c := range field {
		if !partOfNumber(c) {
			return 0, notANumber(field)
		}
	}
	x, err := strconv.ParseFloat(string(field), 64)
	switch {
	case errors.Is(err, strconv.ErrRange):
		return 0, fmt.Errorf("%s is too large", field)
	case err != nil:
		return 0, notANumber(field)
	}
	return x, nil
}

func notANumber(field []byte) error {
	return fmt.Errorf("%q is not a number; leave the field empty where a value isn't known", printable(string(field)))
}
