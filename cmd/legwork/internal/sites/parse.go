package sites

import (
	"bytes"
	"cmp"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"legwork/cmd/legwork/internal/job"
	"legwork/probe/sheet"
)

// place is where something stands.
type place struct {
	file         string
	line, column int
}

// mapAt is a register map and the row that names it.
type mapAt struct {
	file string
	at   place
}

// reader reads one list.
type reader struct {
	list   *List
	open   func(file string) (*job.Job, error)
	faults []sheet.Fault
	maps   []mapAt
	header []string // of the file's columns; empty for one that isn't known
}

func (r *reader) fault(at place, what, mend string) {
	r.faults = append(r.faults, sheet.Fault{File: at.file, Line: at.line, Column: at.column, Problem: sheet.Problem{What: what, Mend: mend}})
}

// Parse reads a sites file. Register maps that it names aren't opened; job
// sheets are, by open. The error is a *sheet.Faults with all that is wrong.
func Parse(file string, src []byte, open func(file string) (*job.Job, error)) (*List, error) {
	r := &reader{list: &List{File: file}, open: open}
	r.csv(file, src)
	if err := r.err(); err != nil {
		return nil, err
	}
	return r.list, nil
}

// csv reads the file (RFC 4180; a semicolon may part the cells, as spreadsheets
// write them where the comma is the decimal point).
func (r *reader) csv(file string, src []byte) {
	src = bytes.TrimPrefix(src, []byte("\xEF\xBB\xBF"))
	if bytes.HasPrefix(src, []byte("\xFF\xFE")) || bytes.HasPrefix(src, []byte("\xFE\xFF")) {
		r.fault(place{file, 1, 1}, "this is UTF-16", "save it as CSV in UTF-8")
		return
	}
	in := csv.NewReader(bytes.NewReader(src))
	in.FieldsPerRecord, in.ReuseRecord, in.Comma = -1, true, comma(src)
	seen := map[string]int{}
	var under []row
	for {
		cells, err := in.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if wrong, ok := errors.AsType[*csv.ParseError](err); ok {
			r.fault(place{file, wrong.Line, wrong.Column}, "no CSV here: "+wrong.Err.Error(),
				"a cell with a quote or a comma stands in quotes, its own quotes doubled")
			continue
		}
		at := row{r, file, in, cells}
		switch {
		case r.header == nil:
			if !r.readHeader(at) {
				return
			}
		case !at.blank():
			if s := at.read(seen); s != nil {
				r.list.Sites = append(r.list.Sites, s)
				under = append(under, at.kept(s))
			}
		}
	}
	if r.header == nil {
		r.fault(place{file, 1, 1}, "the file is empty", "begin with a header such as name,meter,map,service")
		return
	}
	r.checkUnder(under, seen)
	r.checkWires()
	if len(r.list.Sites) == 0 && len(r.faults) == 0 {
		r.fault(place{file, 2, 1}, "there is no meter below the header", "write a row a meter")
	}
}

// comma is what parts the cells of the header.
func comma(src []byte) rune {
	first, _, _ := bytes.Cut(src, []byte("\n"))
	for _, c := range []byte{',', ';', '\t'} {
		if bytes.IndexByte(first, c) >= 0 {
			return rune(c)
		}
	}
	return ','
}

// readHeader reports whether rows can be read by it.
func (r *reader) readHeader(at row) bool {
	r.header = make([]string, len(at.cells))
	for i, c := range at.cells {
		name := strings.TrimSpace(c)
		switch {
		case !slices.Contains(columns, name):
			mend := cmp.Or(sheet.DidYouMean(name, columns), "known are "+strings.Join(columns, ", "))
			r.fault(at.place(i), fmt.Sprintf("%q is no column of a sites file", name), mend)
			continue
		case slices.Contains(r.header, name):
			r.fault(at.place(i), fmt.Sprintf("the column %q stands twice", name), "keep one of them")
			continue
		}
		r.header[i] = name
	}
	whole := true
	for _, name := range wanted {
		if !slices.Contains(r.header, name) {
			r.fault(at.place(0), fmt.Sprintf("there is no column %q", name), "a sites file needs name and meter")
			whole = false
		}
	}
	return whole
}

// checkUnder refuses an `under` that names nobody, or leads back to itself.
func (r *reader) checkUnder(rows []row, line map[string]int) {
	above := map[string]string{}
	for _, s := range r.list.Sites {
		above[s.Name] = s.Under
	}
	for i, s := range r.list.Sites {
		if s.Under == "" {
			continue
		}
		at := rows[i].placeOf("under")
		if line[s.Under] == 0 {
			r.fault(at, fmt.Sprintf("under: there is no meter %q", s.Under), nearName(s.Under, r.list.Sites))
			continue
		}
		up := s.Under
		for n := 0; up != "" && up != s.Name && n <= len(r.list.Sites); n++ {
			up = above[up]
		}
		if up == s.Name {
			r.fault(at, fmt.Sprintf("under: %q is above %q, which is above it", s.Name, s.Under),
				"name the meter that feeds this one")
		}
	}
}

// mostNear bounds how many names are compared with one that isn't there.
const mostNear = 1000

func nearName(name string, all []*Site) string {
	var names []string
	for _, s := range all[:min(len(all), mostNear)] {
		names = append(names, s.Name)
	}
	return cmp.Or(sheet.DidYouMean(name, names), "write the name of a row of this file, or nothing")
}

// checkWires refuses two ways of talking on one connection, and a meter among
// others of which the unit isn't said.
func (r *reader) checkWires() {
	first := map[string]*Site{}
	for _, s := range r.list.Sites {
		key := WireOf(s.Meter)
		if f := first[key]; f == nil {
			first[key] = s
		} else if s.Meter.Short() || f.Meter.Short() {
			r.fault(place{r.list.File, s.Line, 1}, fmt.Sprintf("%s and %s (%s) are on one wire, where each needs its unit",
				s.Meter.Text, f.Meter.Text, f.Name), "write both in full; `legwork find --all` prints them")
		} else if f.Meter.Kind != s.Meter.Kind {
			r.fault(place{r.list.File, s.Line, 1}, fmt.Sprintf("%s and %s (%s) are on one connection", s.Meter.Text,
				f.Meter.Text, f.Name), "write both with the same scheme")
		}
	}
}
