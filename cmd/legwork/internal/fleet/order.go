package fleet

import (
	"fmt"
	"strings"
)

// Order changes a meter by a line such as "suite-3 off test kiln", "suite-3 on
// test kiln", "suite-3 fault ct2-reversed" or "suite-3 fault none". The error
// says what would be right.
func (f *Fleet) Order(line string) error {
	fields := strings.SplitN(strings.TrimSpace(line), " ", 3)
	if len(fields) < 3 {
		return fmt.Errorf("%q: write a meter, on, off or fault, and a circuit or a list of faults", line)
	}
	m := f.Find(fields[0])
	if m == nil {
		return fmt.Errorf("there is no meter %q", fields[0])
	}
	switch what := fields[2]; fields[1] {
	case "off":
		return m.Place.Break(what, true)
	case "on":
		return m.Place.Break(what, false)
	case "fault":
		if what == "none" {
			what = ""
		}
		return m.Place.SetFault(what)
	}
	return fmt.Errorf("%q is not on, off or fault", fields[1])
}
