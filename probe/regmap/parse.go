package regmap

import (
	"cmp"
	"fmt"
	"slices"

	"legwork/probe/reading"
	"legwork/probe/sheet"
)

// Version is the version of the file's format.
const Version = 1

// Faults is every fault of a file; Fault is one of them.
type (
	Faults = sheet.Faults
	Fault  = sheet.Fault
)

// Parse reads a register map. The error is a *Faults with all that is wrong.
func Parse(name string, src []byte) (*Map, error) {
	r := reader{m: &Map{}, names: map[string]bool{}}
	if err := sheet.Read(name, src, &r.file, r.check); err != nil {
		return nil, err
	}
	return r.m, nil
}

// reader reads one file.
type reader struct {
	file  file
	m     *Map
	names map[string]bool // of the points, good or not
}

func (r *reader) check(root sheet.Node) {
	f := &r.file
	r.m.Meter = f.Meter
	f.Order = cmp.Or(f.Order, ABCD)
	// MODBUS over Serial Line V1.02, 2.2; TCP guide 4.4.1.3
	if u := f.Unit.Value; u == 0 && f.Unit.OK || u > 247 && u != 255 {
		f.Unit.Fault(fmt.Sprintf("%d is no unit identifier of a meter", u),
			"from 1 to 247, or 255 for a meter straight on the network")
	}
	r.m.Unit = f.Unit.Value
	if !f.Points.Is() {
		root.Fault("there are no points", "list them under `points:`")
		return
	}
	for _, e := range f.Points.Entries() {
		r.point(e)
	}
	r.overlaps()
	r.useful()
}

// useful checks that the map gives enough of some channel to judge it.
func (r *reader) useful() {
	for k := 1; k <= reading.MaxChannels; k++ {
		has := func(name string) bool { return r.names[fmt.Sprintf("%s.%d", name, k)] }
		if has("voltage") && has("current") && slices.ContainsFunc([]string{"power", "angle", "pf"}, has) {
			return
		}
	}
	r.file.Points.AtKey().Fault("no channel has a voltage, a current, and power, angle or pf with them",
		"add voltage.1, current.1, and power.1")
}
