package learn

import (
	"math"
	"slices"

	"legwork/probe/reading"
)

// byQuantity is the widest stride of a layout where the channels of one quantity
// stand side by side.
const byQuantity = 8

// beside lists the groups of a context that may belong to the same channels as v.
func (l *library) beside(v *group, c context, want func(*group) bool) []*group {
	var all []*group
	for _, f := range c {
		for _, p := range l.places(f) {
			if p.table != v.table || !nearby(v, p.at) {
				continue
			}
			for _, stride := range strides(v, f) {
				if g := l.gather(f, p, stride, len(v.of)); g != nil && (g.moves() || l.stands(g)) && !g.wild() && want(g) {
					all = append(all, g)
				}
			}
		}
	}
	return all
}

// stands reports a group that doesn't move, and needn't: what was measured is there,
// on two channels, or on one of which a step of its register hides what changes.
func (l *library) stands(g *group) bool {
	if len(l.measured) == 0 || g.most() == 0 {
		return false
	}
	type scale struct {
		quantity reading.Quantity
		ten      float64
	}
	shown := map[scale]int{}
	for _, m := range l.measured {
		k := m.Point.Index - 1
		if k < 0 || k >= len(g.of) || m.Value == 0 || m.Point.Quantity == reading.Voltage {
			continue
		}
		x := math.Abs(g.of[k].mid)
		ten := math.Log10(x / m.Value)
		if x == 0 || math.Abs(ten-math.Round(ten)) > 0.04 {
			continue
		}
		at := scale{m.Point.Quantity, math.Round(ten)}
		if shown[at]++; shown[at] > 1 || g.of[k].coarse(x) > 0.0005 {
			return true
		}
	}
	return false
}

// farthest is how many registers apart two quantities of a channel may stand.
const farthest = 130

// nearby reports an address where a quantity beside v may stand.
func nearby(v *group, at int) bool {
	if v.stride > byQuantity {
		return at > v.at-v.stride && at < v.at+v.stride
	}
	return at > v.at-farthest && at < v.at+farthest
}

// strides are those that a group of a form can have beside v.
func strides(v *group, f form) []int {
	if len(v.of) == 1 {
		return []int{0}
	}
	if v.stride > byQuantity {
		return []int{v.stride}
	}
	var out []int
	for _, s := range []int{v.stride, f.size(), 2 * v.stride} {
		if s >= f.size() && s <= byQuantity && !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	return out
}
