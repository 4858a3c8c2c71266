package fleet

import (
	"fmt"
	"strings"
)

// Order changes a meter by a line such as "suite-3 off test kiln", "suite-3 leg 1 on
// 1.5kW" or "suite-3 fault none" (see sim.Place.Order). It gives what was done; the
// error says what would be right.
func (f *Fleet) Order(line string) (done string, err error) {
	name, order, ok := strings.Cut(strings.TrimSpace(line), " ")
	if !ok {
		return "", fmt.Errorf("%q: write a meter and what to do, such as %s off CIRCUIT, leg 1 on 1.5kW or none", line, name)
	}
	m := f.Find(name)
	if m == nil {
		return "", fmt.Errorf("there is no meter %q", name)
	}
	done, err = m.Place.Order(order)
	return name + ": " + done, err
}
