package regmap

import (
	"cmp"
	"errors"
	"fmt"
	"math"

	"legwork/probe/reading"
	"legwork/probe/sheet"
)

// point reads one line of the points, and keeps it if nothing is wrong in it.
func (r *reader) point(e sheet.Entry) {
	key := e.Value.AtKey()
	r.names[e.Name] = true
	id, err := reading.ParsePoint(e.Name)
	if err != nil {
		key.Fault(err.Error(), hint(e.Name, err))
		return
	}
	faults := key.Faults()
	w := r.file.Points.Read(e)
	p := Point{Point: id, Order: w.Order.Or(r.file.Order), Factor: 1, ExponentAt: -1}
	p.line, p.column = key.Position()
	r.layout(&p, &w, key)
	if id.Quantity.IsText() {
		p.Scale = 1
		w.plain()
	} else {
		r.number(&p, &w)
		p.positive(w.Positive)
		p.powerFactorSign(w.Sign)
	}
	if key.Faults() == faults {
		r.m.points = append(r.m.points, p)
	}
}

func hint(name string, err error) string {
	if !errors.Is(err, reading.ErrNoPoint) {
		return ""
	}
	return cmp.Or(sheet.DidYouMean(name, pointNames()), "see the README for the list")
}

// layout reads where the value stands and how.
func (r *reader) layout(p *Point, w *filePoint, key sheet.Node) {
	if cmp.Or(w.Table, r.file.Table) == "input" {
		p.Table = Input
	}
	if !w.At.Is() {
		key.Fault(p.String()+" has no `at`", "add `at:`")
	}
	if !w.Type.Is() {
		key.Fault(p.String()+" has no `type`", "add `type:`")
	}
	p.Address = r.address(w.At, p.Table)
	if !w.Type.OK {
		return
	}
	p.Type = w.Type.Value
	p.measure(w, key)
	if p.Address+p.Count > 1<<16 {
		w.At.Fault(fmt.Sprintf("%s would end at register %d", p.Point, p.Address+p.Count-1), "registers end at 65535")
	}
}

// measure finds how many registers the point takes.
func (p *Point) measure(w *filePoint, key sheet.Node) {
	p.Count = p.Type.registers()
	wrong := fmt.Sprintf("%s can't be of type %s", p.Point, p.Type)
	switch text := p.Type == Text; {
	case text && !p.Quantity.IsText():
		w.Type.Fault(wrong, "it wants a number type")
	case !text && p.Quantity.IsText():
		w.Type.Fault(wrong, "it wants `text`")
	case !text && w.Length.Is():
		w.Length.Fault("only a text has a length", "take it out")
	case text && !w.Length.Is():
		key.Fault(p.String()+" is a text without a length", "add `length:`, in registers of two letters")
	case text:
		p.Count = w.Length.Value
	}
}

// plain reports what a text can't have.
func (w *filePoint) plain() {
	for _, n := range []sheet.Node{w.Unit.Node, w.Scale.Node, w.Offset.Node, w.ExponentAt.Node, w.Absent.Node, w.Positive,
		w.Sign, w.Order.Node} {
		if n.Is() {
			n.AtKey().Fault("a text has no "+n.Name(), "take it out")
		}
	}
}

// number reads what turns the raw value into an SI one.
func (r *reader) number(p *Point, w *filePoint) {
	p.Scale, p.Offset = w.Scale.Or(1), w.Offset.Value
	if p.Scale == 0 {
		w.Scale.Fault("a scale of 0 makes every value 0", "write what one step of the register is worth")
	}
	if w.ExponentAt.Is() {
		p.ExponentAt = r.address(w.ExponentAt, p.Table)
	}
	if w.Unit.OK {
		p.unit(w.Unit)
	}
	if p.Type.registers() > 0 { // a wrong type was reported
		p.absent(w.Absent)
	}
}

func (p *Point) unit(t sheet.Text) {
	factor, ok := unitFactor(t.Value, p.Quantity)
	if !ok {
		t.Fault(fmt.Sprintf("%q is not a unit of %s", t.Value, p.Quantity), "it wants "+unitsOf(p.Quantity))
	}
	p.Unit, p.Factor = t.Value, factor
}

// absent reads the raw values that mean 'not available'.
func (p *Point) absent(n sheet.List[sheet.Node]) {
	low, high := math.MinInt64, math.MaxInt64
	switch bits := p.Type.bits(); {
	case bits == 64:
	case p.Type.unsigned():
		low, high = 0, 1<<bits-1
	default:
		low, high = -1<<(bits-1), 1<<bits-1
	}
	for item := range n.Each() {
		if p.Type.float() {
			x, _ := item.Float()
			p.Absent = append(p.Absent, Raw(math.Float64bits(x)))
			continue
		}
		x, _ := item.Int(low, high)
		p.Absent = append(p.Absent, Raw(uint64(x)&(^uint64(0)>>(64-p.Type.bits()))))
	}
}

// positive reads what the sign of the value says.
func (p *Point) positive(n sheet.Node) {
	var ways []string // ours first
	switch p.Quantity {
	case reading.Power, reading.TotalPower:
		ways = []string{"import", "export"}
	case reading.Reactive, reading.TotalReactive, reading.AngleOf:
		ways = []string{"lag", "lead"}
	case reading.VoltageAngle, reading.CurrentAngle:
		ways = []string{"lead", "lag"} // anticlockwise leads
	}
	if n.Is() && ways == nil {
		n.AtKey().Fault(fmt.Sprintf("%s has no `positive`", p.Quantity), "take it out")
		return
	}
	way, ok := n.OneOf(ways...)
	p.Negated = ok && way == ways[1]
}

func (p *Point) powerFactorSign(n sheet.Node) {
	if p.Quantity != reading.PowerFactor {
		if n.Is() {
			n.AtKey().Fault("only pf has a `sign`", "for other quantities write `positive:`")
		}
		return
	}
	way := "power"
	if p.unsigned() {
		way = "none"
	}
	if n.Is() {
		way, _ = n.OneOf("none", "power", "lag", "lead")
	}
	switch way {
	case "", "none":
		return
	case "power":
		p.PowerFactorSign = reading.SignTellsPower
	default:
		p.PowerFactorSign, p.Negated = reading.SignTellsLagging, way == "lead"
	}
	if p.unsigned() {
		n.Fault(fmt.Sprintf("the sign of %s is said to tell the %s, but type %s has none", p.Point, way, p.Type),
			"write `sign: none`, or a signed type")
	}
}
