package probe

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"legwork/probe/reading"
	"legwork/probe/sheet"
)

// csvHeader says what each column of a CSV capture holds.
type csvHeader struct {
	columns  []csvColumn
	channels int
}

// csvColumn is a point, or one of the columns that aren't points.
type csvColumn struct {
	name  string
	point reading.Point // zero for the others
	sign  int           // channel of a pf_sign column
}

func parseHeader(line string) (*csvHeader, error) {
	names, err := splitCSV(line)
	if err != nil {
		return nil, err
	}
	h := &csvHeader{}
	seen := map[string]bool{}
	for _, name := range names {
		name = strings.TrimSpace(name)
		if seen[name] {
			return nil, fmt.Errorf("column %q stands twice", name)
		}
		seen[name] = true
		c, err := parseColumn(name)
		if err != nil {
			return nil, err
		}
		h.columns = append(h.columns, c)
		h.channels = max(h.channels, c.point.Channel())
	}
	if !seen["at"] || h.channels == 0 {
		return nil, errors.New("this is neither a line of JSON nor a CSV header with `at` and points such as voltage.1")
	}
	return h, nil
}

func parseColumn(name string) (csvColumn, error) {
	if name == "at" || name == "service" {
		return csvColumn{name: name}, nil
	}
	if k, ok := strings.CutPrefix(name, "pf_sign."); ok && len(k) == 1 && k >= "1" && k <= "3" {
		return csvColumn{name: name, sign: int(k[0] - '0')}, nil
	}
	p, err := reading.ParsePoint(name)
	if err != nil {
		names := []string{"at", "service"}
		for _, p := range reading.Points() {
			names = append(names, p.String())
		}
		if near := sheet.Near(name, names); near != "" {
			return csvColumn{}, fmt.Errorf("column %w; did you mean %s?", err, near)
		}
		return csvColumn{}, fmt.Errorf("column %w", err)
	}
	return csvColumn{name: name, point: p}, nil
}

// splitCSV splits one line; a quoted field can't hold a line's end here.
func splitCSV(line string) ([]string, error) {
	fields, err := csv.NewReader(strings.NewReader(line)).Read()
	if errors.Is(err, io.EOF) {
		return nil, errors.New("the line is empty")
	}
	if err != nil {
		var wrong *csv.ParseError
		if errors.As(err, &wrong) {
			err = wrong.Err
		}
		return nil, fmt.Errorf("not CSV: %w", err)
	}
	return fields, nil
}

func (h *csvHeader) parse(line string) (reading.Reading, error) {
	fields, err := splitCSV(line)
	if err != nil {
		return reading.Reading{}, err
	}
	if len(fields) != len(h.columns) {
		return reading.Reading{}, fmt.Errorf("%d fields, but the header has %d", len(fields), len(h.columns))
	}
	r := reading.Reading{Channels: make([]reading.Channel, h.channels)}
	for i, c := range h.columns {
		if err := c.set(&r, strings.TrimSpace(fields[i])); err != nil {
			return r, fmt.Errorf("%s: %w", c.name, err)
		}
	}
	if r.At.IsZero() {
		return r, errors.New("the reading has no time; give `at`, such as 2026-05-04T09:30:00Z")
	}
	return r, nil
}

func (c csvColumn) set(r *reading.Reading, field string) error {
	if field == "" {
		return nil
	}
	switch {
	case c.name == "at":
		at, err := time.Parse(time.RFC3339, field)
		if err != nil {
			return fmt.Errorf("%q is not a time such as 2026-05-04T09:30:00Z", field)
		}
		r.At = at
	case c.name == "service":
		r.Service = field
	case c.sign > 0:
		return setSign(r, c.sign, field)
	case c.point.Quantity.IsText():
		r.SetText(c.point, field)
	default:
		return setNumber(r, c.point, field)
	}
	return nil
}

func setSign(r *reading.Reading, channel int, field string) error {
	sign, err := parsePowerFactorSign(field)
	if err == nil && channel <= len(r.Channels) {
		r.Channels[channel-1].PowerFactorSign = sign
	}
	return err
}

func setNumber(r *reading.Reading, p reading.Point, field string) error {
	x, err := strconv.ParseFloat(field, 64)
	v := reading.Known(x)
	if err != nil || !v.Known() {
		return fmt.Errorf("%q is not a finite number; leave the field empty where a value isn't known", field)
	}
	r.SetNumber(p, v)
	return nil
}
