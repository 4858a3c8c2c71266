package job

import "strings"

// Lack is a line of a sheet that is still blank, and what it is for.
type Lack struct{ Name, For string }

// Lacks lists what is blank in the sheet, in its order.
func (j *Job) Lacks() []Lack {
	var all []Lack
	add := func(blank bool, name, use string) {
		if blank {
			all = append(all, Lack{name, use})
		}
	}
	add(j.Site == "", "site", "the title of the report; else it is this file's name")
	add(j.Panel == "", "panel", "which panel the record and the report are of")
	add(j.Metered == "", "metered", "which way the arrows of the CTs point")
	add(j.Service == "", "service", "else it is taken from the voltages; a phase test needs it")
	add(j.Meter.Kind == 0, "meter", "nothing can be read without it; `legwork find --into` writes it here")
	add(j.Map == "" && j.Meter.OnWire(), "map",
		"which registers hold what; `sunspec` for a meter that follows that standard")
	add(j.CTs.Output == "", "cts: output", "how dangerous an open CT is; blank counts as dangerous")
	add(j.CTs.Secondary == "", "cts: secondary", "the report")
	add(j.CTs.Primary == 0, "cts: primary",
		"is held against the rating that the meter is set to, and against its readings")
	add(len(j.Legs) == 0, "legs", "colours on the worksheet and in the report")
	add(j.Breaker == "", "reference_breaker", "what to open for a voltage input, in the report")
	add(j.Generation == "", "generation", "else power that flows back stays one explanation of several")
	add(len(j.Load) == 0, "load", "else any mixture of loads is reckoned with")
	var unsigned []string
	for _, p := range []Lack{{"technician", j.People.Technician}, {"electrician", j.People.Electrician},
		{"witness", j.People.Witness}} {
		if p.For == "" {
			unsigned = append(unsigned, p.Name)
		}
	}
	add(len(unsigned) > 0, "people: "+strings.Join(unsigned, ", "), "who signs the record and the report")
	return all
}
