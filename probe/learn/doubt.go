package learn

import (
	"fmt"
	"math"
	"slices"

	"legwork/probe/reading"
)

// DoubtKind says what speaks against a reading of registers.
type DoubtKind uint8

// The kinds of doubts.
const (
	ShownElse DoubtKind = iota + 1 // an instrument shows something else
	NoSign                         // an instrument shows less than nothing, and registers never do
)

// Doubt is what speaks against the likeliest reading of registers: while it stands they
// aren't settled.
type Doubt struct {
	Kind  DoubtKind
	Point reading.Point
	Shown float64 // by an instrument, in SI, with its sign
	Reads float64 // by the registers, likewise, in the round that is nearest
}

// String is the doubt as a person reads it.
func (d Doubt) String() string {
	unit := d.Point.Quantity.Unit()
	shown := fmt.Sprintf("an instrument shows %.5g %s for %s", d.Shown, unit, d.Point)
	if d.Kind == NoSign {
		return shown + ", and these registers are never negative: they have no sign, so a CT the wrong way round " +
			"can't be told from one that is right"
	}
	return fmt.Sprintf("%s, and its registers read %.5g %s", shown, d.Reads, unit)
}

// How far an instrument may be off, beyond what the load moved by and a step of the
// registers. Our choice, no source: a clamp's class and the time between the two.
const (
	voltmeterOff = 0.025
	clampOff     = 0.07
	acrossOff    = 0.02 // of the apparent power: what an angle does to a power
	littleOff    = 0.01 // of the largest channel
)

// doubts are what was measured and isn't so. signed is that with signs as they are.
func (v *view) doubts(signed []Measured) []Doubt {
	var all []Doubt
	for _, m := range signed {
		reads, ok := v.nearest(m)
		if !ok {
			continue
		}
		d := Doubt{ShownElse, m.Point, m.Value, reads}
		slack := v.slack(m)
		switch {
		case math.Abs(math.Abs(reads)-math.Abs(m.Value)) > slack:
			all = append(all, d)
		case m.Value < -slack && reads > slack:
			if !v.p.belowZero() {
				d.Kind = NoSign
			}
			all = append(all, d)
		}
	}
	return all
}

// slack is how far apart a right reading and an instrument can be.
func (v *view) slack(m Measured) float64 {
	size, most := math.Abs(m.Value), 0.
	for k := range v.p.of {
		one := m.Point
		if m.Point.Channel() > 0 {
			one.Index = k + 1
		}
		x, _ := v.at(one)
		most = math.Max(most, math.Abs(x))
	}
	slack := littleOff*most + v.moved(m.Point)
	switch m.Point.Quantity {
	case reading.Voltage:
		return slack + voltmeterOff*size
	case reading.Power, reading.Reactive:
		slack += acrossOff * v.apparent(m.Point.Index)
	case reading.TotalPower:
		for k := range v.p.of {
			slack += acrossOff * v.apparent(k+1)
		}
	}
	return slack + clampOff*size
}

// moved is by how much a point moved over the rounds, and a step of its registers.
func (v *view) moved(p reading.Point) float64 {
	high, _ := v.when(p, func(s *series) float64 { return s.high + s.step/2 })
	low, _ := v.when(p, func(s *series) float64 { return s.low - s.step/2 })
	return high - low
}

// nearest is what a point reads in the round that is nearest to what was measured.
func (v *view) nearest(m Measured) (reads float64, ok bool) {
	off := math.Inf(1)
	for r := range v.p.of[0].x {
		x, is := v.when(m.Point, func(s *series) float64 { return s.x[r] })
		if ok = is; !is {
			break
		}
		if by := math.Abs(math.Abs(x) - math.Abs(m.Value)); by < off {
			off, reads = by, x
		}
	}
	return reads, ok
}

// belowZero reports a group that was seen below zero.
func (g *group) belowZero() bool {
	return slices.ContainsFunc(g.of, func(s *series) bool { return s.low < 0 })
}

// doubt lowers the probability of what is in doubt, and of what hangs on it.
func doubt(all []Point, doubts []Doubt) {
	for i := range all {
		if slices.ContainsFunc(doubts, func(d Doubt) bool { return d.touches(all[i].Quantity) }) {
			all[i].Probability = math.Min(all[i].Probability, inDoubt)
		}
	}
}

// touches reports a quantity that can't be right where the doubt is: powers hang on the
// currents, and all on the voltages.
func (d Doubt) touches(q reading.Quantity) bool {
	ofPower := q == reading.Power || q == reading.TotalPower
	switch {
	case d.Kind == NoSign || ofPower:
		return ofPower
	case q == d.Point.Quantity || d.Point.Quantity == reading.Voltage:
		return true
	case d.Point.Quantity == reading.Current:
		return slices.Contains(ofVoltAmperes, q)
	}
	return false
}

// ofVoltAmperes are the quantities that have their scale from the currents.
var ofVoltAmperes = []reading.Quantity{reading.Reactive, reading.Apparent, reading.PowerFactor, reading.TotalReactive}

// inDoubt is how sure what is in doubt can be. Our choice, no source.
const inDoubt = 0.3

// sizes are what was measured without signs: a clamp has none, and a CT the wrong way
// round turns it.
func sizes(measured []Measured) []Measured {
	out := slices.Clone(measured)
	for i := range out {
		out[i].Value = math.Abs(out[i].Value)
	}
	return out
}
