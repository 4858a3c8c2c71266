package sim

import (
	"fmt"
	"slices"
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

// ParseScenario reads a scenario's YAML. The error is a *sheet.Faults: every
// fault of the file, with line and column.
func ParseScenario(file string, src []byte) (*Scenario, error) {
	var (
		c Scenario
		f placeFile
	)
	if err := sheet.Read(file, src, &f, func(sheet.Node) { c.take(&f) }); err != nil {
		return nil, err
	}
	return &c, nil
}

func (c *Scenario) take(f *placeFile) {
	c.Title = f.Title
	if name, ok := f.Service.OneOf(Services()...); ok {
		c.Service, _ = ParseService(name)
	}
	c.Sequence = ABC
	if f.Sequence == "ACB" {
		c.Sequence = ACB
	}
	c.takeHighLeg(f.HighLeg)
	c.takeVolts(f.Volts)
	c.takeMeter(&f.Meter)
	if c.Service.Name != "" && f.Loads.Is() {
		c.takeLoads(f.Loads)
	}
}

func (c *Scenario) takeHighLeg(t sheet.Text) {
	switch {
	case !t.OK:
	case c.Service.layout != highLeg:
		t.Fault("this service has no high leg", "only 120/240D has one")
	default:
		c.HighLeg = conductorOf(t.Value)
	}
}

func (c *Scenario) takeVolts(l sheet.List[float64]) {
	n := len(l.List())
	if n > 0 && c.Service.Name != "" && n != c.Service.Legs() {
		l.Fault(fmt.Sprintf("%d voltages are given", n), fmt.Sprintf("%s has %d legs", c.Service.Name, c.Service.Legs()))
		return
	}
	copy(c.Volts[:], slices.Collect(l.Each()))
}

func (c *Scenario) takeMeter(f *meterFile) {
	c.Average = f.Average
	c.Meter = MeterOptions{CTPrimary: f.CTPrimary, Class: f.Class.Value, Noise: f.Noise, Steps: true,
		PowerFactorLags: f.PF == "lag", RootReactive: f.Reactive == "root", NeutralCT: f.NeutralCT,
		Serial: f.Serial, Model: f.Model}
	if _, err := limitsOf(f.Class.Value); err != nil {
		f.Class.Refuse(err)
	}
}

// mostLoads keeps a file from making a simulator that never answers.
const mostLoads = 200

func (c *Scenario) takeLoads(l sheet.List[loadFile]) {
	if n := len(l.List()); n == 0 || n > mostLoads {
		l.Fault(fmt.Sprintf("%d loads are given", n), fmt.Sprintf("from 1 to %d", mostLoads))
		return
	}
	for f := range l.Each() {
		kind, _ := f.Kind.OneOf(kindNames[:]...)
		c.Loads = append(c.Loads, Load{Name: f.Name, Kind: Kind(max(0, slices.Index(kindNames[:], kind))),
			Across: c.across(f.Across), VA: f.VA, Lag: f.Lag, Distortion: f.Distortion})
		c.Cycles = append(c.Cycles, f.Cycle)
	}
}

// across reads A-N, B-C or ABC, as far as the service has the conductors.
func (c *Scenario) across(t sheet.Text) Across {
	all := c.connections()
	names := make([]string, len(all))
	for i, a := range all {
		if names[i] = a.String(); t.OK && names[i] == t.Value {
			return a
		}
	}
	if t.OK {
		t.Fault(fmt.Sprintf("%q is no connection on %s", t.Value, c.Service.Name), "one of "+strings.Join(names, ", "))
	}
	return ToNeutral(LegA)
}

// connections lists those that a load can have on the service.
func (c *Scenario) connections() []Across {
	var all []Across
	for i := range c.Service.Legs() {
		if c.Service.HasNeutral() {
			all = append(all, ToNeutral(leg(i)))
		}
		for j := range c.Service.Legs() {
			if i != j {
				all = append(all, Between(leg(i), leg(j)))
			}
		}
	}
	if c.Service.Legs() == 3 {
		all = append(all, ThreePhase())
	}
	return all
}

// conductorOf reads a leg's letter, or N; anything else is Nothing.
func conductorOf(letter string) Conductor {
	if i := strings.Index("ABCN", letter); i >= 0 && len(letter) == 1 {
		return LegA + Conductor(i)
	}
	return Nothing
}
