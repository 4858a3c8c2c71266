package learn

import (
	"math"

	"legwork/probe/reading"
)

// chances are what the views that agree with the likeliest weigh together.
type chances struct{ channels, volts, amps, watts, all float64 }

func chancesOf(top *view, all []*view) chances {
	var c chances
	for _, v := range all {
		if len(v.v.of) != len(top.v.of) {
			continue
		}
		c.channels += v.weight
		volts, amps, watts := v.likeness(top)
		for _, one := range []struct {
			is  bool
			sum *float64
		}{{volts, &c.volts}, {amps && volts, &c.amps}, {watts && volts, &c.watts}, {volts && amps && watts, &c.all}} {
			if one.is {
				*one.sum += v.weight
			}
		}
	}
	return c
}

// placed is what the views that agree with the likeliest but for the powers of ten
// of current and power weigh together.
func placed(top *view, all []*view) float64 {
	sum := 0.
	for _, v := range all {
		alike := *v
		alike.ampere = top.ampere
		if alike.agree(top) {
			sum += v.weight
		}
	}
	return sum
}

// closest is how far what was measured is from the round that is nearest.
func (v *view) closest(m Measured) float64 {
	g, ten := v.v.group, v.v.ten
	switch m.Point.Quantity {
	case reading.Current:
		g, ten = v.i, v.ampere
	case reading.Power:
		g, ten = v.p, v.watt()
	}
	off := math.Inf(1)
	for _, x := range g.of[m.Point.Index-1].x {
		off = math.Min(off, math.Abs(math.Abs(x)*math.Pow10(ten)-m.Value))
	}
	return off
}

// doubt lowers the probability of a quantity that most of what was measured of
// it contradicts.
func (v *view) doubt(all []Found, measured []Measured) {
	for _, q := range []reading.Quantity{reading.Voltage, reading.Current, reading.Power} {
		good, bad := 0, 0
		for _, m := range measured {
			_, is := v.valueOf(m.Point)
			room := 0.25 * m.Value
			if q == reading.Power {
				room += 0.06 * v.apparent(m.Point.Index)
			}
			switch {
			case !is || m.Point.Quantity != q || m.Value == 0:
			case v.closest(m) < room:
				good++
			default:
				bad++
			}
		}
		for i := range all {
			if all[i].Quantity == q && bad > 0 && bad >= good {
				all[i].Probability *= 0.3
			}
		}
	}
}

// sure is a probability for what one weighing gave.
func (v *view) sure(what string) float64 { return 1 - math.Min(1, 2*math.Exp(-v.given(what))) }
