package sim

import (
	"fmt"
	"math"
	"strings"

	"legwork/probe/sheet"
)

// Scenario is a place as its file describes it. ParseScenario makes one.
type Scenario struct {
	Title    string
	Service  Service
	Sequence Sequence
	HighLeg  Conductor  // of a four-wire delta; Nothing for the usual one
	Volts    [3]float64 // of the legs; 0 for nominal
	Meter    MeterOptions
	Average  float64 // s over which the meter averages; 0 for an instant
	Loads    []Load
	Cycles   []Cycle // one for each load
}

// scenarioVersion is the version of the file format.
const scenarioVersion = 1

// ParseScenario reads a scenario's YAML. The error is a *sheet.Faults: every
// fault of the file, with line and column.
func ParseScenario(file string, src []byte) (*Scenario, error) {
	s, root := sheet.Open(file, src)
	if err := s.Err(); err != nil {
		return nil, err
	}
	var c Scenario
	fields := root.Fields("legwork-place", "title", "service", "sequence", "high-leg", "volts", "meter", "loads")
	if version := fields["legwork-place"]; version.Is() {
		version.Int(scenarioVersion, scenarioVersion)
	} else {
		missing(root, fields, "legwork-place", fmt.Sprint(scenarioVersion))
	}
	c.Title, _ = fields["title"].Text()
	if name, ok := needed(root, fields, "service").OneOf(Services()...); ok {
		c.Service, _ = ParseService(name)
	}
	c.readSupply(fields)
	c.readMeter(fields["meter"])
	if loads := needed(root, fields, "loads"); c.Service.Name != "" {
		c.readLoads(loads)
	}
	if err := s.Err(); err != nil {
		return nil, err
	}
	return &c, nil
}

// needed gives a field and reports one that is missing.
func needed(parent sheet.Node, fields map[string]sheet.Node, name string) sheet.Node {
	n := fields[name]
	if !n.Is() {
		missing(parent, fields, name, "...")
	}
	return n
}

// missing reports a field at the first of those that are there.
func missing(parent sheet.Node, fields map[string]sheet.Node, name, value string) {
	line, column := parent.Position()
	for _, n := range fields {
		if l, c := n.AtKey().Position(); l < line || l == line && c < column {
			line, column = l, c
		}
	}
	parent.FaultAt(line, column, name+" is missing", fmt.Sprintf("write `%s: %s`", name, value))
}

// within gives a number between bounds; ok is false where it isn't there.
func within(n sheet.Node, low, high float64) (x float64, ok bool) {
	if !n.Is() {
		return 0, false
	}
	x, ok = n.Float()
	if ok && (x < low || x > high) {
		n.Fault(fmt.Sprintf("%g is out of range", x), fmt.Sprintf("from %g to %g", low, high))
		return 0, false
	}
	return x, ok
}

// mostVolts bounds a leg's voltage: low voltage ends at 1000 V (IEC 60038).
const mostVolts = 1000

func (c *Scenario) readSupply(fields map[string]sheet.Node) {
	c.Sequence = ABC
	if q, _ := optional(fields["sequence"], "ABC", "ACB"); q == "ACB" {
		c.Sequence = ACB
	}
	if n := fields["high-leg"]; n.Is() {
		c.readHighLeg(n)
	}
	volts := fields["volts"].List()
	if len(volts) > 0 && c.Service.Name != "" && len(volts) != c.Service.Legs() {
		fields["volts"].Fault(fmt.Sprintf("%d voltages are given", len(volts)), fmt.Sprintf("%s has %d legs", c.Service.Name, c.Service.Legs()))
		return
	}
	for i, n := range volts[:min(len(volts), 3)] {
		c.Volts[i], _ = within(n, 1, mostVolts)
	}
}

func (c *Scenario) readHighLeg(n sheet.Node) {
	letter, ok := n.OneOf("A", "B", "C")
	if ok && c.Service.layout != highLeg {
		n.Fault("this service has no high leg", "only 120/240D has one")
	} else if ok {
		c.HighLeg = conductorOf(letter)
	}
}

func (c *Scenario) readMeter(n sheet.Node) {
	f := n.Fields("ct-primary", "class", "noise", "average", "pf", "reactive", "neutral-ct", "serial", "model")
	m := &c.Meter
	m.Steps = true
	m.CTPrimary, _ = within(f["ct-primary"], 1, 1e5)
	m.Noise, _ = within(f["noise"], 0, 0.1)
	c.Average, _ = within(f["average"], 0, 60)
	if class, ok := f["class"].Text(); ok {
		m.Class = class
		if _, err := limitsOf(class); err != nil {
			f["class"].Fault(err.Error(), "")
		}
	}
	pf, _ := optional(f["pf"], "power", "lag")
	reactive, _ := optional(f["reactive"], "measured", "root")
	m.PowerFactorLags, m.RootReactive = pf == "lag", reactive == "root"
	m.NeutralCT, _ = f["neutral-ct"].Bool()
	m.Serial, _ = f["serial"].Text()
	m.Model, _ = f["model"].Text()
}

// optional is one of a few words, or none.
func optional(n sheet.Node, words ...string) (string, bool) {
	if !n.Is() {
		return "", false
	}
	return n.OneOf(words...)
}

// conductorOf reads a leg's letter, or N; anything else is Nothing.
func conductorOf(letter string) Conductor {
	if i := strings.Index("ABCN", letter); i >= 0 && len(letter) == 1 {
		return LegA + Conductor(i)
	}
	return Nothing
}

// frac is the part of x after the point, from 0 to below 1.
func frac(x float64) float64 { return x - math.Floor(x) }
