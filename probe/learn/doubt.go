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
	NoService                      // voltages are those of no service
	Ratio                          // currents lack the ratio of their CTs
	Exchanged                      // the current of a single channel may be its voltage
)

// Doubt is what speaks against the likeliest reading of registers: while it stands they
// aren't settled.
type Doubt struct {
	Kind  DoubtKind
	Point reading.Point
	Shown float64 // by an instrument, in SI, with its sign
	Reads float64 // by the registers, likewise, in the round that is nearest; of Ratio, how many times V I the powers are
}

// String is the doubt as a person reads it.
func (d Doubt) String() string {
	unit := d.Point.Quantity.Unit()
	switch d.Kind {
	case NoService:
		return fmt.Sprintf("%.4g %s is no service's voltage, or a rare one's: a power factor or a line voltage may read so", d.Reads, unit)
	case Ratio:
		return fmt.Sprintf("the powers of all channels tie with %.3g x voltage x current, or that times a power of ten: "+
			"the currents lack the ratio of their CTs", d.Reads)
	}
	if d.Kind == Exchanged {
		return fmt.Sprintf("%.4g %s is read before the voltage: it may be a low voltage itself", d.Reads, unit)
	}
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
	littleOff    = 0.01 // of the largest channel, where that is more

	serviceWithin = 0.05 // of a nominal voltage (ANSI C84.1 range A, from memory); they are close together
	unityReads    = 100  // V, as a power factor of 1.000 does: a service of that is rare, and asked for
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
		case v.lacksMinus(m):
			if !v.p.belowZero() {
				d.Kind = NoSign
			}
			all = append(all, d)
		}
	}
	return all
}

// lacksMinus reports that an instrument shows less than nothing where a view has more.
func (v *view) lacksMinus(m Measured) bool {
	if m.Value >= 0 {
		return false
	}
	reads, _ := v.nearest(m)
	slack := v.slack(m)
	return m.Value < -slack && reads > slack
}

// ownDoubts are what speaks against a view without that anything was measured.
func (v *view) ownDoubts(l *library) []Doubt {
	var all []Doubt
	if volts := v.noService(l); volts > 0 {
		all = append(all, Doubt{Kind: NoService, Point: pointOf(reading.Voltage, 0), Reads: volts})
	}
	if amps := v.exchanged(l); amps > 0 {
		all = append(all, Doubt{Kind: Exchanged, Point: pointOf(reading.Current, 0), Reads: amps})
	}
	if x := v.ratio(); x > 0 {
		all = append(all, Doubt{Kind: Ratio, Point: pointOf(reading.Current, 0), Reads: x})
	}
	return all
}

// between are the nominal voltages that three channels seldom have: they are those
// between the legs of a wye (IEC 60038 Table 1; common practice, no source).
var between = [...]float64{200, 208, 380, 400, 415, 440, 480, 600, 690}

// noService is the voltage of channels where it is near none that is known and no
// voltmeter shows any; else 0.
func (v *view) noService(l *library) float64 {
	sizes := make([]float64, len(v.v.of))
	for k, s := range v.v.of {
		if l.isTold(pointOf(reading.Voltage, k)) {
			return 0
		}
		sizes[k] = s.mid * math.Pow10(v.v.ten)
	}
	volts := typical(sizes)
	known := func(x float64) bool {
		return math.Abs(volts/x-1) < serviceWithin && x > unityReads && (len(sizes) < 3 || !slices.Contains(between[:], x))
	}
	if slices.ContainsFunc(nominals[:], known) {
		return 0
	}
	return volts
}

// exchanged is the current of a single channel where it stands before the voltage and
// neither was measured: V I is the same the other way round, and a voltage may be low.
func (v *view) exchanged(l *library) float64 {
	if len(v.v.of) > 1 || v.i.at > v.v.at || l.isTold(pointOf(reading.Voltage, 0)) ||
		l.isTold(pointOf(reading.Current, 0)) {
		return 0
	}
	amps, _ := v.at(pointOf(reading.Current, 0))
	return amps
}

// ask is what settles what is in doubt: nil where nothing that is measured does. open is
// what would settle most without the doubts.
func ask(doubts []Doubt, open func() *Ask) *Ask {
	for _, d := range doubts {
		switch d.Kind {
		case NoSign, Ratio:
			return nil
		case NoService, Exchanged:
			return &Ask{d.Point, []float64{d.Reads}}
		}
	}
	return open()
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
	off, across := clampOff, 0.
	switch m.Point.Quantity {
	case reading.Voltage:
		off = voltmeterOff
	case reading.Power, reading.Reactive:
		across = v.apparent(m.Point.Index)
	case reading.TotalPower:
		for k := range v.p.of {
			across += v.apparent(k + 1)
		}
	}
	return math.Max(off*size, littleOff*most) + acrossOff*across + v.moved(m.Point)
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
