package sim

import (
	"fmt"
	"slices"
	"strings"

	"legwork/probe/sheet"
)

// mostLoads keeps a file from making a simulator that never answers.
const mostLoads = 200

func (c *Scenario) readLoads(n sheet.Node) {
	items := n.List()
	if len(items) == 0 || len(items) > mostLoads {
		n.Fault(fmt.Sprintf("%d loads are given", len(items)), fmt.Sprintf("from 1 to %d", mostLoads))
		return
	}
	for _, item := range items {
		f := item.Fields("name", "kind", "across", "va", "lag", "distortion", "cycle")
		var l Load
		l.Name, _ = f["name"].Text()
		if kind, ok := needed(item, f, "kind").OneOf(kindNames[:]...); ok {
			l.Kind = Kind(slices.Index(kindNames[:], kind))
		}
		l.Across = c.readAcross(needed(item, f, "across"))
		l.VA, _ = within(needed(item, f, "va"), 1, 1e7)
		l.Lag, _ = within(needed(item, f, "lag"), -180, 180)
		l.Distortion, _ = within(f["distortion"], 0, 2)
		c.Loads = append(c.Loads, l)
		c.Cycles = append(c.Cycles, readCycle(f["cycle"]))
	}
}

// readAcross reads A-N, B-C or ABC, as far as the service has the conductors.
func (c *Scenario) readAcross(n sheet.Node) Across {
	text, ok := n.Text()
	if !ok {
		return ToNeutral(LegA)
	}
	all := c.connections()
	if i := slices.IndexFunc(all, func(a Across) bool { return a.String() == text }); i >= 0 {
		return all[i]
	}
	names := make([]string, len(all))
	for i, a := range all {
		names[i] = a.String()
	}
	n.Fault(fmt.Sprintf("%q is no connection on %s", text, c.Service.Name), "one of "+strings.Join(names, ", "))
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

// readCycle reads a load's cycle; without one it is always on.
func readCycle(n sheet.Node) Cycle {
	if !n.Is() {
		return Cycle{}
	}
	f := n.Fields("every", "on", "from")
	var c Cycle
	c.Every, _ = within(needed(n, f, "every"), 1, 1e6)
	c.On, _ = within(needed(n, f, "on"), 0, 1)
	c.From, _ = within(f["from"], 0, 1e6)
	return c
}
