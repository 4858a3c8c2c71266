package sites

import (
	"encoding/csv"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"legwork/cmd/legwork/internal/job"
	"legwork/cmd/legwork/internal/source"
	"legwork/diagnose"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
	"legwork/probe/sheet"
)

// row is one record while it is read.
type row struct {
	r    *reader
	file string
	at   interface {
		FieldPos(i int) (line, column int)
	}
	cells []string
}

// place is where a cell stands; of one that is missing, where the row begins.
func (w row) place(i int) place {
	if i < 0 || i >= len(w.cells) {
		i = 0
	}
	line, column := w.at.FieldPos(i)
	return place{w.file, line, column}
}

func (w row) placeOf(column string) place { return w.place(slices.Index(w.r.header, column)) }

// fixed is a place that stays when the reader goes on.
type fixed struct{ line, column int }

// FieldPos gives the place.
func (f fixed) FieldPos(int) (line, column int) { return f.line, f.column }

// kept is the row as it is needed later: where `under` stands.
func (w row) kept(s *Site) row {
	if s.Under == "" {
		return row{}
	}
	at := w.placeOf("under")
	return row{w.r, w.file, fixed{at.line, at.column}, nil}
}

func (w row) blank() bool {
	for _, c := range w.cells {
		if strings.TrimSpace(c) != "" {
			return false
		}
	}
	return true
}

// get is the text of a column, or nothing.
func (w row) get(column string) string {
	i := slices.Index(w.r.header, column)
	if i < 0 || i >= len(w.cells) {
		return ""
	}
	return strings.TrimSpace(w.cells[i])
}

// read makes the meter of a row; nil where the row has no place for one.
func (w row) read(seen map[string]int) *Site {
	line, _ := w.at.FieldPos(0)
	if n := len(w.cells); n > len(w.r.header) {
		w.r.fault(w.place(len(w.r.header)), fmt.Sprintf("the row has %d cells, and the header %d", n, len(w.r.header)),
			"put a cell with a comma in quotes")
		return nil
	}
	s := &Site{Name: w.get("name"), Place: w.get("site"), Under: w.get("under"), Note: w.get("note"), Line: line}
	w.checkName(s, seen)
	s.Service, s.Load = w.service(), w.loads()
	s.Generation = diagnose.Generation(w.oneOf("generation"))
	s.CTPrimary = w.ctPrimary()
	if s.Map = w.get("map"); s.Map != "" {
		s.Map = w.beside(s.Map)
	}
	w.meter(s)
	s.Wire = WireOf(s.Meter)
	if wire := w.get("wire"); wire != "" {
		s.Wire = strings.ToLower(wire)
	}
	return s
}

// mostName bounds a name, which stands in addresses and labels.
const mostName = 200

func (w row) checkName(s *Site, seen map[string]int) {
	at := w.placeOf("name")
	first, twice := seen[s.Name]
	switch {
	case s.Name == "":
		w.r.fault(at, "the meter has no name", "write one that no other row has")
		return
	case twice:
		w.r.fault(at, fmt.Sprintf("the name %q stands twice", s.Name), fmt.Sprintf("line %d has it already", first))
		return
	case len(s.Name) > mostName || !utf8.ValidString(s.Name) || strings.ContainsFunc(s.Name, odd):
		w.r.fault(at, fmt.Sprintf("the name %.40q can't stand in an address", s.Name),
			fmt.Sprintf("use at most %d letters, digits and signs", mostName))
	}
	seen[s.Name] = s.Line
}

// odd is what could make a name look like another one.
func odd(c rune) bool { return unicode.IsControl(c) || unicode.Is(unicode.Bidi_Control, c) }

func (w row) service() string {
	name := w.get("service")
	if name == "" {
		return ""
	}
	if _, err := wiring.ParseService(name); err != nil {
		w.r.fault(w.placeOf("service"), err.Error(), "")
		return ""
	}
	return name
}

// oneOf is one of the words of a column.
func (w row) oneOf(column string) string {
	text, known := w.get(column), words[column]
	if text != "" && !slices.Contains(known, text) {
		w.r.fault(w.placeOf(column), fmt.Sprintf("%s: %q is not one of %s", column, text, strings.Join(known, ", ")),
			sheet.DidYouMean(text, known))
		return ""
	}
	return text
}

// loads is a list, in one cell.
func (w row) loads() []diagnose.LoadSort {
	all, err := diagnose.ParseLoad(w.get("load"))
	if err != nil {
		w.r.fault(w.placeOf("load"), "load: "+err.Error(), "")
	}
	return all
}

func (w row) ctPrimary() float64 {
	text := w.get("ct_primary")
	if text == "" {
		return 0
	}
	x, err := reading.ParseQuantity(text, "A")
	switch {
	case err != nil:
		w.r.fault(w.placeOf("ct_primary"), "ct_primary: "+err.Error(), "")
	case !(x > 0) || x > 1e6:
		w.r.fault(w.placeOf("ct_primary"), fmt.Sprintf("ct_primary: %q is out of range", text),
			"write the rated current, such as 200")
	default:
		return x
	}
	return 0
}

func (w row) beside(name string) string {
	if filepath.IsAbs(name) || name == source.SunSpecMap {
		return name
	}
	return filepath.Join(filepath.Dir(w.file), filepath.FromSlash(name))
}

func (w row) meter(s *Site) {
	text, at := w.get("meter"), w.placeOf("meter")
	if text == "" {
		w.r.fault(at, "the row names no meter", "write a METER, such as tcp://HOST/UNIT")
		return
	}
	a, err := source.Parse(text)
	switch {
	case err != nil:
		w.r.fault(at, err.Error(), "")
		return
	case a.Kind == source.Capture && a.Name == "-":
		w.r.fault(at, "standard input is no meter of a list", "name the capture's file")
	case a.Kind == source.Capture:
		a.Name = w.beside(a.Name)
	case a.Kind == source.Job:
		w.jobSheet(s, w.beside(a.Name), at)
		return
	}
	s.Meter = a
	w.r.wantsMap(s, at)
}

func (w row) jobSheet(s *Site, file string, at place) {
	var j *job.Job
	j, err := w.r.open(file)
	if err == nil {
		err = j.NeedsMeter()
	}
	if err != nil {
		w.r.fault(at, err.Error(), "")
		return
	}
	w.r.ofJob(s, j)
	w.r.wantsMap(s, at)
}

// wantsMap notes the register map of a meter, and refuses one without.
func (r *reader) wantsMap(s *Site, at place) {
	switch s.Meter.Kind {
	case source.TCP, source.TLS, source.RTU, source.RTUOverTCP, source.BarePort, source.BareHost:
		if s.Map == "" && s.Meter.Short() {
			return // it may describe itself
		}
		if s.Map == "" {
			r.fault(at, s.Meter.Text+" needs a register map", "name its file in the column `map`, or write sunspec there")
		} else if s.Map != source.SunSpecMap {
			r.maps = append(r.maps, mapAt{s.Map, at})
		}
	default:
		if s.Map != "" {
			r.fault(at, s.Meter.Text+" brings its own readings", "leave `map` blank")
		}
	}
}

var _ interface{ FieldPos(int) (int, int) } = (*csv.Reader)(nil)
