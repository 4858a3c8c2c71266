package regmap

import (
	"fmt"
	"math"
	"strings"

	"legwork/probe/reading"
	"legwork/probe/sheet"
)

var pointFields = []string{"at", "type", "length", "unit", "scale", "offset", "exponent_at", "absent", "positive", "order", "table", "sign"}

func (r *reader) point(e sheet.Entry) {
	id, err := reading.ParsePoint(e.Name)
	r.names[e.Name] = true
	if err != nil {
		mend := ""
		if strings.HasSuffix(err.Error(), "is not a point") {
			mend = "see the README for the list"
			if near := sheet.Near(e.Name, pointNames()); near != "" {
				mend = "did you mean " + near + "?"
			}
		}
		e.Value.AtKey().Fault(err.Error(), mend)
		return
	}
	f := e.Value.Fields(pointFields...)
	p := Point{Point: id, Order: r.order, Scale: 1, Factor: 1, ExponentAt: -1}
	p.line, p.column = e.Value.AtKey().Position()
	ok := r.layout(&p, e, f)
	ok = r.number(&p, f) && ok
	ok = r.sign(&p, f) && ok
	if ok {
		r.m.points = append(r.m.points, p)
	}
}

func pointNames() []string {
	var names []string
	for _, p := range reading.Points() {
		names = append(names, p.String())
	}
	return names
}

// layout reads where the value stands and how.
func (r *reader) layout(p *Point, e sheet.Entry, f map[string]sheet.Node) bool {
	table := r.table
	if t, ok := f["table"].OneOf("holding", "input"); ok {
		table = t
	}
	if table == "input" {
		p.Table = Input
	}
	if o, ok := f["order"].OneOf(orders...); ok {
		p.Order = Order(o)
	}
	for _, name := range []string{"at", "type"} {
		if !f[name].Is() {
			e.Value.AtKey().Fault(fmt.Sprintf("%s has no `%s`", e.Name, name), fmt.Sprintf("add `%s:`", name))
		}
	}
	at, okAt := r.address(f["at"], p.Table)
	kind, okType := f["type"].OneOf(types...)
	if !okAt || !okType {
		return false
	}
	p.Address, p.Type = at, Type(kind)
	return p.measure(e, f) && p.inside(f["at"])
}

// measure finds how many registers the point takes.
func (p *Point) measure(e sheet.Entry, f map[string]sheet.Node) bool {
	p.Count = p.Type.registers()
	if p.Quantity.IsText() != (p.Type == Text) {
		want := "a number type"
		if p.Quantity.IsText() {
			want = "`text`"
		}
		f["type"].Fault(fmt.Sprintf("%s can't be of type %s", e.Name, p.Type), "it wants "+want)
		return false
	}
	if p.Type != Text {
		if f["length"].Is() {
			f["length"].Fault("only a text has a length", "take it out")
			return false
		}
		return true
	}
	if !f["length"].Is() {
		e.Value.AtKey().Fault(e.Name+" is a text without a length", "add `length:`, in registers of two letters")
		return false
	}
	n, ok := f["length"].Int(1, 125)
	p.Count = n
	return ok
}

func (p *Point) inside(at sheet.Node) bool {
	if p.Address+p.Count <= 1<<16 {
		return true
	}
	at.Fault(fmt.Sprintf("%s would end at register %d", p.Point, p.Address+p.Count-1), "the last one there is is 65535")
	return false
}

// number reads what turns the raw value into an SI one.
func (r *reader) number(p *Point, f map[string]sheet.Node) bool {
	ok := true
	if p.Quantity.IsText() {
		for _, name := range []string{"unit", "scale", "offset", "exponent_at", "absent", "positive", "sign", "order"} {
			if f[name].Is() {
				f[name].AtKey().Fault(fmt.Sprintf("a text has no %s", name), "take it out")
				ok = false
			}
		}
		return ok
	}
	if x, is := f["scale"].Float(); is {
		p.Scale = x
		if x == 0 {
			f["scale"].Fault("a scale of 0 makes every value 0", "write what one step of the register is worth")
			ok = false
		}
	} else if f["scale"].Is() {
		ok = false
	}
	if x, is := f["offset"].Float(); is {
		p.Offset = x
	} else if f["offset"].Is() {
		ok = false
	}
	ok = r.exponentAt(p, f["exponent_at"]) && ok
	ok = p.unit(f["unit"]) && ok
	return p.absent(f["absent"]) && ok
}

func (r *reader) exponentAt(p *Point, n sheet.Node) bool {
	if !n.Is() {
		return true
	}
	at, ok := r.address(n, p.Table)
	if ok {
		p.ExponentAt = at
	}
	return ok
}

func (p *Point) unit(n sheet.Node) bool {
	text, ok := n.Text()
	if !ok {
		return !n.Is()
	}
	factor, ok := unitFactor(text, p.Quantity)
	if !ok {
		n.Fault(fmt.Sprintf("%q is not a unit of %s", text, p.Quantity), "it wants "+unitsOf(p.Quantity))
		return false
	}
	p.Unit, p.Factor = text, factor
	return true
}

// absent reads the raw values that mean 'not available'.
func (p *Point) absent(n sheet.Node) bool {
	ok := true
	if p.Type.registers() == 0 {
		return true // the type is wrong, and that was reported
	}
	for _, item := range n.List() {
		if p.Type.float() {
			x, is := item.Float()
			ok = ok && is
			p.Absent = append(p.Absent, Raw(math.Float64bits(x)))
			continue
		}
		low, high := math.MinInt64, math.MaxInt64
		if bits := p.Type.bits(); bits < 64 {
			low, high = 0, 1<<bits-1
			if !p.Type.unsigned() {
				low = -1 << (bits - 1)
			}
		}
		x, is := item.Int(low, high)
		ok = ok && is
		p.Absent = append(p.Absent, Raw(uint64(x)&(^uint64(0)>>(64-p.Type.bits()))))
	}
	return ok
}

// sign reads what the sign of the value says.
func (r *reader) sign(p *Point, f map[string]sheet.Node) bool {
	if p.Quantity.IsText() {
		return true
	}
	return p.positive(f["positive"]) && p.powerFactorSign(f["sign"])
}

func (p *Point) positive(n sheet.Node) bool {
	var ways []string // ours first
	switch p.Quantity {
	case reading.Power, reading.TotalPower:
		ways = []string{"import", "export"}
	case reading.Reactive, reading.TotalReactive, reading.AngleOf:
		ways = []string{"lag", "lead"}
	case reading.VoltageAngle, reading.CurrentAngle:
		ways = []string{"lead", "lag"} // anticlockwise leads
	}
	if !n.Is() {
		return true
	}
	if ways == nil {
		n.AtKey().Fault(fmt.Sprintf("%s has no `positive`", p.Quantity), "take it out")
		return false
	}
	way, ok := n.OneOf(ways...)
	p.Negated = ok && way == ways[1]
	return ok
}

func (p *Point) powerFactorSign(n sheet.Node) bool {
	if p.Quantity != reading.PowerFactor {
		if n.Is() {
			n.AtKey().Fault("only pf has a `sign`", "for other quantities write `positive:`")
		}
		return !n.Is()
	}
	way := "power"
	if p.unsigned() {
		way = "none"
	}
	if n.Is() {
		var ok bool
		if way, ok = n.OneOf("none", "power", "lag", "lead"); !ok {
			return false
		}
	}
	switch way {
	case "power":
		p.PowerFactorSign = reading.SignTellsPower
	case "lag", "lead":
		p.PowerFactorSign = reading.SignTellsLagging
		p.Negated = way == "lead"
	}
	if way != "none" && p.unsigned() {
		n.Fault(fmt.Sprintf("the sign of %s is said to tell the %s, but type %s has none", p.Point, way, p.Type), "write `sign: none`, or a signed type")
		return false
	}
	return true
}
