package regmap

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"legwork/probe/sheet"
)

// address is where a point stands, as on the wire, from 0; 0 where the file has
// none, which was reported.
func (r *reader) address(f sheet.Int, t Table) int {
	switch {
	case !f.OK:
	case r.file.Numbering == "reference":
		return fromReference(f, t)
	case f.Value > math.MaxUint16:
		f.Fault(fmt.Sprintf("%d is beyond the last register, 65535", f.Value),
			"if this is a data-model number, write `numbering: reference`")
	default:
		return f.Value
	}
	return 0
}

// fromReference turns a data-model number, counted from 1 and perhaps with the
// digit of its table before it, into an address. Ranges: common practice from
// the reference guide PI-MBUS-300; six digits where five don't reach.
func fromReference(f sheet.Int, t Table) int {
	at := f.Value
	for _, r := range [...]struct {
		first, last int
		table       Table
	}{{30001, 39999, Input}, {40001, 49999, Holding}, {300001, 365536, Input}, {400001, 465536, Holding}} {
		if at < r.first || at > r.last {
			continue
		}
		if r.table != t {
			f.Fault(fmt.Sprintf("%d is the number of an %s register, but the table here is %s", at, r.table, t),
				fmt.Sprintf("write `table: %s`", r.table))
		}
		return at - r.first
	}
	if at < 1 || at > 9999 {
		f.Fault(fmt.Sprintf("%d is no data-model number of a register", at), "they run from 40001 (holding) "+
			"or 30001 (input), or from 1; for numbers as on the wire write `numbering: address`")
		return 0
	}
	return at - 1
}

// overlaps reports points that share registers.
func (r *reader) overlaps() {
	points := r.file.Points.Node
	sorted := slices.Clone(r.m.points)
	slices.SortStableFunc(sorted, func(a, b Point) int {
		return cmp.Or(cmp.Compare(a.Table, b.Table), cmp.Compare(a.Address, b.Address))
	})
	for i := range sorted {
		for j := i + 1; j < len(sorted); j++ {
			a, b := &sorted[i], &sorted[j]
			if a.Table != b.Table || b.Address >= a.Address+a.Count {
				break
			}
			reportOverlap(points, a, b)
		}
	}
	for i := range r.m.points {
		r.exponentOverlap(points, &r.m.points[i])
	}
}

// reportOverlap speaks at the one that stands later in the file.
func reportOverlap(points sheet.Node, a, b *Point) {
	if a.line > b.line || a.line == b.line && a.column > b.column {
		a, b = b, a
	}
	from, to := max(a.Address, b.Address), min(a.Address+a.Count, b.Address+b.Count)
	what := fmt.Sprintf("%s reads %s %s, and %s covers %s", b.Point, registerWord(b.Count),
		registerRange(b.Address, b.Count), a.Point, registerRange(from, to-from))
	points.FaultAt(b.line, b.column, what, "check the addresses and types of both")
}

func registerWord(n int) string {
	if n == 1 {
		return "register"
	}
	return "registers"
}

// exponentOverlap reports a power of ten that stands within another value.
func (r *reader) exponentOverlap(points sheet.Node, p *Point) {
	for i := range r.m.points {
		q := &r.m.points[i]
		if p.ExponentAt >= 0 && q.Table == p.Table && p.ExponentAt >= q.Address && p.ExponentAt < q.Address+q.Count {
			what := fmt.Sprintf("%s takes its exponent from register %d, which %s covers", p.Point, p.ExponentAt, q.Point)
			points.FaultAt(p.line, p.column, what, "check `exponent_at`")
		}
	}
}
