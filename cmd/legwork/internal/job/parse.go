package job

import (
	"fmt"
	"slices"
	"strings"

	"legwork/cmd/legwork/internal/source"
	"legwork/diagnose"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
	"legwork/probe/sheet"
)

// Parse reads a job sheet. The error is a *sheet.Faults with all that is wrong.
// Files that the sheet names aren't opened here.
func Parse(name string, src []byte) (*Job, error) {
	s, root := sheet.Open(name, src)
	r := reader{j: &Job{File: name, noMeter: sheet.Fault{File: name, Problem: errNoMeter}}}
	if s.Err() == nil && !otherKind(root) {
		root.Lenient().Decode(&r.file)
		r.check(root)
	}
	if err := s.Err(); err != nil {
		return nil, err
	}
	return r.j, nil
}

// Is reports a file that calls itself a job sheet.
func Is(file string, src []byte) bool {
	_, root := sheet.Open(file, src)
	return slices.ContainsFunc(root.Entries(), func(e sheet.Entry) bool { return e.Name == "legwork-job" })
}

// otherKind refuses legwork's other files by their own name, rather than by
// everything in them that isn't known here.
func otherKind(root sheet.Node) bool {
	for _, e := range root.Entries() {
		switch e.Name {
		case "legwork-map":
			e.Value.AtKey().Fault("this is a register map, not a job sheet", "give it with --map FILE, and a METER beside it")
			return true
		case "legwork-place":
			e.Value.AtKey().Fault("this is a place of the simulator, not a job sheet", "give sim:NAME as METER")
			return true
		}
	}
	return false
}

// reader reads one sheet.
type reader struct {
	file    file
	j       *Job
	service wiring.Service // its Name is empty where the sheet has none
}

func (r *reader) check(root sheet.Node) {
	f, j := &r.file, r.j
	j.Site, j.Panel, j.Breaker, j.Remarks = f.Site, f.Panel, f.Breaker, f.Remarks
	j.Metered, j.People, j.Generation = f.Metered, f.People, diagnose.Generation(f.Generation)
	r.load(f.Load)
	j.MinCurrent = positive(f.MinCurrent, "A")
	r.readService(f.Service)
	r.readMeter(root)
	r.cts(&f.CTs)
	r.legs()
	r.seen()
}

var errNoMeter = sheet.Problem{What: "the sheet names no meter",
	Mend: "write `meter:` and a METER, such as tcp://HOST/UNIT; `legwork find --into` does it"}

// NeedsMeter reports a sheet that names no meter, with the place where it should
// stand: most tests and notes of a job need none. The error is a *sheet.Faults.
func (j *Job) NeedsMeter() error {
	if j.Meter.Kind != 0 {
		return nil
	}
	return &sheet.Faults{List: []sheet.Fault{j.noMeter}}
}

// positive is a quantity above 0 in a unit, or 0 where nothing stands.
func positive(t sheet.Text, unit string) float64 {
	if !t.OK {
		return 0
	}
	x, err := reading.ParseQuantity(t.Value, unit)
	switch {
	case err != nil:
		t.Refuse(err)
	case !(x > 0) || x > 1e6:
		t.Fault(fmt.Sprintf("%q is out of range", t.Value), fmt.Sprintf("write one above 0, such as 1 %s", unit))
	default:
		return x
	}
	return 0
}

func (r *reader) readService(t sheet.Text) {
	if !t.OK {
		return
	}
	s, err := wiring.ParseService(t.Value)
	if err != nil {
		t.Fault(err.Error(), sheet.DidYouMean(t.Value, wiring.ServiceNames()))
		return
	}
	r.j.Service, r.service = t.Value, s
}

func (r *reader) readMeter(root sheet.Node) {
	meter, m := r.file.Meter, r.file.Map
	if m.OK {
		r.j.Map = r.j.beside(m.Value)
	}
	if meter.Blank() {
		if meter.Is() {
			root = meter.Node
		}
		r.j.noMeter.Line, r.j.noMeter.Column = root.Position()
		return
	}
	r.j.meterWritten = meter.Value
	a, err := source.Parse(meter.Value)
	switch {
	case err != nil:
		meter.Refuse(err)
		return
	case a.Kind == source.Job:
		meter.Fault("a job sheet can't name another as its meter", "write the METER itself")
	case a.Kind == source.Capture && a.Name == "-":
		meter.Fault("standard input is no meter that a sheet can name", "write the METER itself")
	case a.Kind == source.Sim && r.j.Map != "":
		m.Fault("a simulated meter brings its own register map", "leave `map:` blank")
	case a.Kind == source.Capture:
		a.Name = r.j.beside(a.Name)
	}
	r.j.Meter = a
}

// cts reads the current transformers. Rated secondary currents of 1 A and 5 A:
// IEC 61869-2, 5.202; outputs such as 333 mV are market practice.
func (r *reader) cts(f *fileCTs) {
	r.j.CTs = CTs{Output: f.Output, Secondary: f.Secondary.Value, Primary: positive(f.Primary, "A")}
	if !f.Secondary.OK {
		return
	}
	unit, example := "A", "5 A or 1 A"
	if f.Output == VoltageOutput {
		unit, example = "V", "333 mV or 1 V"
	}
	x, err := reading.ParseQuantity(f.Secondary.Value, unit)
	switch {
	case err != nil && f.Output == "":
		f.Secondary.Fault(err.Error(), "say `output: voltage` with it, where the CTs put out a voltage")
	case err != nil:
		f.Secondary.Fault(err.Error(), "write it such as "+example)
	case !(x > 0) || x > mostSecondary:
		f.Secondary.Fault(fmt.Sprintf("%q is out of range for a secondary", f.Secondary.Value), "write it such as "+example)
	}
}

// mostSecondary, A or V, is more than any rated secondary; an assumption of ours.
const mostSecondary = 20

func (r *reader) legs() {
	names := r.file.Legs.Keys()
	for _, e := range r.file.Legs.Entries() {
		at := slices.Index(names, e.Name)
		switch {
		case at < 0:
			e.Value.AtKey().Fault(fmt.Sprintf("%q is no conductor here", e.Name), "there are "+strings.Join(names, ", "))
			continue
		case r.service.Name != "" && at < 3 && at >= r.service.Legs() && !e.Value.Blank():
			e.Value.AtKey().Fault(fmt.Sprintf("%s has no leg %s", r.service.Name, e.Name), "take the line out")
			continue
		}
		if colour := r.file.Legs.Read(e); colour != "" {
			r.j.Legs = append(r.j.Legs, Conductor{e.Name, colour})
		}
	}
}

func (r *reader) seen() {
	if r.file.Seen.Blank() {
		return
	}
	for _, item := range r.file.Seen.List() {
		text, ok := item.Text()
		if !ok {
			continue
		}
		one, err := diagnose.ParseFinding(text)
		if err != nil {
			item.Refuse(err)
			continue
		}
		r.j.Seen, r.j.SeenTexts = append(r.j.Seen, one), append(r.j.SeenTexts, text)
	}
}

// load is the list of sorts of load.
func (r *reader) load(f sheet.Text) {
	if !f.OK {
		return
	}
	sorts, err := diagnose.ParseLoad(f.Value)
	if err != nil {
		f.Node.Refuse(err)
		return
	}
	r.j.Load = sorts
}
