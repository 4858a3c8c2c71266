package capture

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"legwork/probe/reading"
	"legwork/probe/sheet"
)

// csvForm reads a reading from a row of CSV (RFC 4180, but a quoted field
// can't hold the end of a line).
type csvForm struct {
	columns  []csvColumn
	channels int
	fields   [][]byte // of the row, kept for the next
}

// csvColumn is what a column holds.
type csvColumn struct {
	name string
	set  func(r *reading.Reading, field []byte) error
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
	f := &csvForm{}
	seen := map[string]bool{}
	for _, field := range fields {
		name := string(bytes.TrimSpace(field))
		if seen[name] {
			return nil, fmt.Errorf("column %q stands twice", printable(name))
		}
		seen[name] = true
		if err := f.addColumn(name); err != nil {
			return nil, err
		}
	}
	if !seen[nameAt] || f.channels == 0 {
		return nil, errNoCapture
	}
	return f, nil
}

// addColumn adds the column of a name: a point, or one of the few others.
func (f *csvForm) addColumn(name string) error {
	c := csvColumn{name: name}
	base, index, _ := strings.Cut(name, ".")
	channel := 0
	if len(index) == 1 && index >= "1" && index <= "3" {
		channel = int(index[0] - '0')
	}
	switch {
	case name == nameAt:
		c.set = setTime
	case name == nameService:
		c.set = func(r *reading.Reading, field []byte) error { r.Service = string(field); return nil }
	case name == nameSkew:
		c.set = setSkew
	case base == namePFSign && channel > 0:
		c.set = setSign(channel)
	case base == nameReactiveUnsigned && channel > 0:
		c.set = setUnsigned(channel)
	default:
		p, err := reading.ParsePoint(name)
		if err != nil {
			return unknownColumn(name, err)
		}
		channel, c.set = p.Channel(), setPoint(p)
	}
	f.channels = max(f.channels, channel)
	f.columns = append(f.columns, c)
	return nil
}

func unknownColumn(name string, err error) error {
	all := []string{nameAt, nameService, nameSkew}
	for _, p := range reading.Points() {
		all = append(all, p.String())
	}
	for k := range reading.MaxChannels {
		all = append(all, fmt.Sprintf("%s.%d", namePFSign, k+1), fmt.Sprintf("%s.%d", nameReactiveUnsigned, k+1))
	}
	if near := sheet.Near(name, all); near != "" {
		return fmt.Errorf("column %w; did you mean %s?", err, near)
	}
	return fmt.Errorf("column %w; a header has `at` and points such as voltage.1", err)
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
		if err := f.columns[i].set(&r, field); err != nil {
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
	var at *csv.ParseError
	if errors.As(err, &at) {
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

func setTime(r *reading.Reading, field []byte) (err error) {
	r.At, err = parseTime(string(field))
	return err
}

func setSkew(r *reading.Reading, field []byte) error {
	ms, err := parseNumber(field)
	if err == nil {
		r.Skew, err = skewOf(ms)
	}
	return err
}

func setSign(channel int) func(*reading.Reading, []byte) error {
	return func(r *reading.Reading, field []byte) (err error) {
		r.Channels[channel-1].PowerFactorSign, err = parsePowerFactorSign(string(field))
		return err
	}
}

func setUnsigned(channel int) func(*reading.Reading, []byte) error {
	return func(r *reading.Reading, field []byte) error {
		switch strings.ToLower(string(field)) { // spreadsheets write TRUE
		case "true":
			r.Channels[channel-1].ReactiveUnsigned = true
		case "false":
		default:
			return fmt.Errorf("%q is not true or false", printable(string(field)))
		}
		return nil
	}
}

func setPoint(p reading.Point) func(*reading.Reading, []byte) error {
	if p.Quantity.IsText() {
		return func(r *reading.Reading, field []byte) error {
			r.SetText(p, string(field))
			return nil
		}
	}
	return func(r *reading.Reading, field []byte) error {
		x, err := parseNumber(field)
		if err == nil {
			r.SetNumber(p, reading.Known(x))
		}
		return err
	}
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
