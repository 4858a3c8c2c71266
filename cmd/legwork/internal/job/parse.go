package job

import (
	"fmt"
	"math"
	"slices"

	"legwork/cmd/legwork/internal/source"
	"legwork/diagnose"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
	"legwork/probe/sheet"
)

// fields are the names of a sheet, in the order in which a blank one has them.
var fields = []string{"legwork-job", "site", "panel", "metered", "service", "meter", "map", "cts", "legs",
	"reference_breaker", "generation", "min_current", "people", "seen", "remarks"}

// Parse reads a job sheet. The error is a *sheet.Faults with all that is wrong.
// Files that the sheet names aren't opened here.
func Parse(file string, src []byte) (*Job, error) {
	s, root := sheet.Open(file, src)
	if err := s.Err(); err != nil {
		return nil, err
	}
	if otherKind(root) {
		return nil, s.Err()
	}
	r := reader{j: &Job{File: file}}
	r.read(root)
	if err := s.Err(); err != nil {
		return nil, err
	}
	return r.j, nil
}

// Is reports a file that calls itself a job sheet.
func Is(file string, src []byte) bool {
	_, root := sheet.Open(file, src)
	for _, e := range root.Entries() {
		if e.Name == "legwork-job" {
			return true
		}
	}
	return false
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
	j       *Job
	service wiring.Service // its Name is empty where the sheet has none
}

func (r *reader) read(root sheet.Node) {
	f := root.Fields(fields...)
	j := r.j
	version(root, f["legwork-job"])
	j.Site, j.Panel, j.Breaker, j.Remarks = text(f["site"]), text(f["panel"]), text(f["reference_breaker"]), text(f["remarks"])
	j.Metered = Metered(oneOf(f["metered"], string(Mains), string(Branch)))
	r.readService(f["service"])
	r.readMeter(root, f["meter"], f["map"])
	r.cts(f["cts"])
	r.legs(f["legs"])
	j.Generation = oneOf(f["generation"], "none", "possible") == "possible"
	j.MinCurrent = positive(f["min_current"], "A")
	p := f["people"].Fields("technician", "electrician", "witness")
	j.People = People{text(p["technician"]), text(p["electrician"]), text(p["witness"])}
	r.seen(f["seen"])
}

func version(root, n sheet.Node) {
	if !n.Is() {
		root.Fault("this doesn't say that it is a job sheet", fmt.Sprintf("begin with `legwork-job: %d`", Version))
		return
	}
	if v, ok := n.Int(math.MinInt32, math.MaxInt32); ok && v != Version {
		n.Fault(fmt.Sprintf("version %d of the job sheet's format is not known", v), fmt.Sprintf("this legwork reads version %d", Version))
	}
}

// text is what stands there, or nothing.
func text(n sheet.Node) string {
	if n.Blank() {
		return ""
	}
	s, _ := n.Text()
	return s
}

func oneOf(n sheet.Node, allowed ...string) string {
	if n.Blank() {
		return ""
	}
	s, _ := n.OneOf(allowed...)
	return s
}

// positive is a quantity above 0 in a unit, or 0 where nothing stands.
func positive(n sheet.Node, unit string) float64 {
	s := text(n)
	if s == "" {
		return 0
	}
	x, err := reading.ParseQuantity(s, unit)
	switch {
	case err != nil:
		n.Fault(err.Error(), "")
	case !(x > 0) || x > 1e6:
		n.Fault(fmt.Sprintf("%q is out of range", s), fmt.Sprintf("write one above 0, such as 1 %s", unit))
	default:
		return x
	}
	return 0
}

func (r *reader) readService(n sheet.Node) {
	name := text(n)
	if name == "" {
		return
	}
	s, err := wiring.ParseService(name)
	if err != nil {
		n.Fault(err.Error(), nearService(name))
		return
	}
	r.j.Service, r.service = name, s
}

func nearService(name string) string {
	var names []string
	for _, s := range wiring.Services() {
		names = append(names, s.Name)
	}
	if near := sheet.Near(name, names); near != "" {
		return "did you mean " + near + "?"
	}
	return ""
}

func (r *reader) readMeter(root, n, m sheet.Node) {
	r.j.Map = text(m)
	if r.j.Map != "" {
		r.j.Map = r.j.beside(r.j.Map)
	}
	if n.Blank() {
		if !n.Is() {
			n = root
		}
		n.Fault("the sheet names no meter", "write `meter:` and a METER, such as tcp://HOST/UNIT or sim:kiln-house")
		return
	}
	r.j.meterWritten = text(n)
	a, err := source.Parse(r.j.meterWritten)
	switch {
	case err != nil:
		n.Fault(err.Error(), "")
		return
	case a.Kind == source.Job:
		n.Fault("a job sheet can't name another as its meter", "write the METER itself")
	case a.Kind == source.Capture && a.Name == "-":
		n.Fault("standard input is no meter that a sheet can name", "write the METER itself")
	case a.Kind == source.Sim && r.j.Map != "":
		m.Fault("a simulated meter brings its own register map", "leave `map:` blank")
	case a.Kind == source.Capture:
		a.Name = r.j.beside(a.Name)
	}
	r.j.Meter = a
}

// cts reads the current transformers. Rated secondary currents of 1 A and 5 A:
// IEC 61869-2, 5.202; outputs such as 333 mV are market practice.
func (r *reader) cts(n sheet.Node) {
	f := n.Fields("output", "secondary", "primary")
	c := &r.j.CTs
	c.Output = Output(oneOf(f["output"], string(CurrentOutput), string(VoltageOutput)))
	c.Primary = positive(f["primary"], "A")
	c.Secondary = text(f["secondary"])
	if c.Secondary == "" {
		return
	}
	unit, example := "A", "5 A or 1 A"
	if c.Output == VoltageOutput {
		unit, example = "V", "333 mV or 1 V"
	}
	x, err := reading.ParseQuantity(c.Secondary, unit)
	switch {
	case err != nil && c.Output == "":
		f["secondary"].Fault(err.Error(), "say `output: voltage` with it, where the CTs put out a voltage")
	case err != nil:
		f["secondary"].Fault(err.Error(), "write it such as "+example)
	case !(x > 0) || x > mostSecondary:
		f["secondary"].Fault(fmt.Sprintf("%q is out of range for a secondary", c.Secondary), "write it such as "+example)
	}
}

// mostSecondary, A or V, is more than any rated secondary; an assumption of ours.
const mostSecondary = 20

func (r *reader) legs(n sheet.Node) {
	names := []string{"1", "2", "3", "neutral", "earth"}
	for _, e := range n.Entries() {
		at := slices.Index(names, e.Name)
		switch {
		case at < 0:
			e.Value.AtKey().Fault(fmt.Sprintf("%q is no conductor here", e.Name), "there are 1, 2, 3, neutral and earth")
			continue
		case r.service.Name != "" && at < 3 && at >= r.service.Legs():
			e.Value.AtKey().Fault(fmt.Sprintf("%s has no leg %s", r.service.Name, e.Name), "take the line out")
			continue
		}
		if colour := text(e.Value); colour != "" {
			r.j.Legs = append(r.j.Legs, Conductor{e.Name, colour})
		}
	}
}

func (r *reader) seen(n sheet.Node) {
	if n.Blank() {
		return
	}
	for _, item := range n.List() {
		s, ok := item.Text()
		if !ok {
			continue
		}
		one, err := diagnose.ParseFinding(s)
		if err != nil {
			item.Fault(err.Error(), "")
			continue
		}
		r.j.Seen, r.j.SeenTexts = append(r.j.Seen, one), append(r.j.SeenTexts, s)
	}
}
