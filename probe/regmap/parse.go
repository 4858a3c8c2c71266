package regmap

import (
	"fmt"
	"math"
	"slices"
	"strings"

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
func Parse(file string, src []byte) (*Map, error) {
	s, root := sheet.Open(file, src)
	if err := s.Err(); err != nil {
		return nil, err
	}
	r := reader{m: &Map{}, names: map[string]bool{}}
	r.read(root)
	if err := s.Err(); err != nil {
		return nil, err
	}
	return r.m, nil
}

// reader reads one file.
type reader struct {
	m         *Map
	names     map[string]bool // of the points, good or not
	reference bool            // numbering: reference
	table     string
	order     Order
}

func (r *reader) read(root sheet.Node) {
	f := root.Fields("legwork-map", "meter", "unit", "table", "numbering", "order", "points")
	r.version(root, f["legwork-map"])
	r.m.Meter, _ = f["meter"].Text()
	r.unit(f["unit"])
	r.table, r.order = "holding", ABCD
	if t, ok := f["table"].OneOf("holding", "input"); ok {
		r.table = t
	}
	if o, ok := f["order"].OneOf(orders...); ok {
		r.order = Order(o)
	}
	numbering, _ := f["numbering"].OneOf("address", "reference")
	r.reference = numbering == "reference"
	if !f["points"].Is() {
		root.Fault("there are no points", "list them under `points:`")
		return
	}
	for _, e := range f["points"].Entries() {
		r.point(e)
	}
	r.overlaps(f["points"])
	r.useful(f["points"].AtKey())
}

func (r *reader) version(root, n sheet.Node) {
	if !n.Is() {
		root.Fault("this doesn't say that it is a register map", fmt.Sprintf("begin with `legwork-map: %d`", Version))
		return
	}
	if v, ok := n.Int(math.MinInt32, math.MaxInt32); ok && v != Version {
		n.Fault(fmt.Sprintf("version %d of the map's format is not known", v), fmt.Sprintf("this legwork reads version %d", Version))
	}
}

func (r *reader) unit(n sheet.Node) {
	u, ok := n.Int(0, 255)
	if !ok {
		return
	}
	if u == 0 || u > 247 && u != 255 { // MODBUS over Serial Line V1.02, 2.2; TCP guide 4.4.1.3
		n.Fault(fmt.Sprintf("%d is no unit identifier of a meter", u), "from 1 to 247, or 255 for a meter straight on the network")
		return
	}
	r.m.Unit = u
}

// useful checks that the map gives enough of some channel to judge it.
func (r *reader) useful(points sheet.Node) {
	for k := 1; k <= reading.MaxChannels; k++ {
		has := func(name string) bool { return r.names[fmt.Sprintf("%s.%d", name, k)] }
		if has("voltage") && has("current") && slices.ContainsFunc([]string{"power", "angle", "pf"}, has) {
			return
		}
	}
	points.Fault("no channel has a voltage, a current, and power, angle or pf with them",
		"add "+strings.Join([]string{"voltage.1", "current.1", "and power.1"}, ", "))
}
