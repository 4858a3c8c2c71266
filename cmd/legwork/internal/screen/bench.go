package screen

import (
	"fmt"
	"io"
)

// Bench is what can be simulated.
type Bench struct {
	Places []Place
	Faults []Fault
}

// Place is a place with a simulated meter.
type Place struct{ Name, Service, Title string }

// Fault is a sort of fault, by the name of one.
type Fault struct{ Name, Means string }

// Simulated lists the places with their services, and the faults with what they mean.
func Simulated(out io.Writer, b Bench, s Style) error {
	w := &writer{Style: s, out: out}
	w.line(w.paint(bold, "Places"))
	for _, p := range b.Places {
		w.line(fmt.Sprintf("  %-16s %-9s %s", p.Name, p.Service, w.plain(p.Title)))
	}
	w.head("Faults (the same with other numbers, as far as there are channels and legs)")
	for _, f := range b.Faults {
		w.item(fmt.Sprintf("  %-20s ", f.Name), f.Means)
	}
	w.head("To practise")
	w.line("  legwork diagnose sim:kiln-house --fault ct2-reversed")
	w.line("  legwork sim kiln-house --control")
	w.item("  ", "It prints the METER that reads it. Then type ct2-reversed, leg 1 on 1.5kW, leg 1 off or none.")
	return w.err
}
