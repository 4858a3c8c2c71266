package learn

import (
	"math"
	"slices"

	"legwork/probe/reading"
	"legwork/probe/regmap"
)

// Unfit is a measurement that isn't what was found for its point.
type Unfit struct {
	Measured
	Reads float64 // what was found reads, in SI
	Found bool    // something was found for the point at all
	Open  bool    // and its power of ten isn't settled
}

// How far a meter may be from an instrument: voltages and frequencies hardly move,
// loads change between two looks, and a power that is small beside its volts times
// amperes changes by more. Our choice.
const (
	nearOfVolts = 0.05
	nearOfLoad  = 0.2
	nearOfVA    = 0.05
)

// Fits reports that a meter that reads x may stand beside what was measured;
// apparent is the channel's volts times amperes, for powers. Signs aren't looked at.
func (m Measured) Fits(x, apparent float64) bool {
	shown, x := math.Abs(m.Value), math.Abs(x)
	near, slack := nearOfLoad, 0.3 // what a clamp shows of nothing
	switch m.Point.Quantity {
	case reading.Voltage, reading.Frequency:
		near, slack = nearOfVolts, 3
	case reading.Power, reading.Reactive, reading.TotalPower:
		slack = nearOfVA * apparent
	}
	return math.Abs(shown-x) <= near*math.Max(shown, x)+slack
}

// unfit lists what was measured and isn't what was found.
func (r *Result) unfit(measured []Measured) []Unfit {
	open := map[reading.Point]bool{}
	reads := map[reading.Point]float64{}
	for _, p := range r.Points {
		reads[p.Point.Point] = p.Reads
	}
	for _, p := range r.Open {
		reads[p.Point.Point], open[p.Point.Point] = p.Reads, !isFloat(p.Type) && p.Quantity != reading.Voltage
	}
	var all []Unfit
	for _, m := range measured {
		p := m.Point
		x, found := reads[p]
		switch beyond := p.Channel() > r.Channels && r.Channels > 0 && m.Value != 0; {
		case !found && !beyond, p.Quantity == reading.EnergyImport, p.Quantity == reading.TotalEnergyImport:
			continue
		}
		va := reads[reading.Point{Quantity: reading.Voltage, Index: p.Index}] *
			reads[reading.Point{Quantity: reading.Current, Index: p.Index}]
		if !found || !m.Fits(x, va) {
			all = append(all, Unfit{m, x, found, open[p]})
		}
	}
	return all
}

// OtherDoubts are those that Unfit doesn't tell.
func (r *Result) OtherDoubts() []Doubt {
	return slices.DeleteFunc(slices.Clone(r.Doubts), func(d Doubt) bool {
		return d.Kind == ShownElse && slices.ContainsFunc(r.Unfit, func(u Unfit) bool { return u.Point == d.Point })
	})
}

// lacked lists what an instrument or the display could still show of the channels
// that were found; where there are none, of the first that isn't measured.
func (r *Result) lacked(measured []Measured) []reading.Point {
	told := func(p reading.Point) bool {
		return slices.ContainsFunc(measured, func(m Measured) bool { return m.Point == p })
	}
	var all []reading.Point
	for k := range reading.MaxChannels {
		all = append(all, pointsOf(k, reading.Voltage, reading.Current, reading.Power)...)
	}
	all = slices.DeleteFunc(all, told)
	last := r.Channels
	if last == 0 && len(all) > 0 {
		last = all[0].Index
	}
	all = slices.DeleteFunc(all, func(p reading.Point) bool { return p.Index > last })
	if total := (reading.Point{Quantity: reading.TotalPower}); r.Channels > 1 && !told(total) {
		all = append(all, total)
	}
	return all
}

// sole is the only measurement of a current or a power, where integers have their
// scale from it; nil where there are more, or none.
func (r *Result) sole(measured []Measured) *Measured {
	var sole *Measured
	for i, m := range measured {
		switch m.Point.Quantity {
		case reading.Current, reading.Power, reading.Reactive, reading.Apparent, reading.TotalPower:
			if sole != nil {
				return nil
			}
			sole = &measured[i]
		}
	}
	for _, p := range r.Points {
		if p.Quantity == reading.Current && isFloat(p.Type) {
			return nil
		}
	}
	return sole
}

func isFloat(t regmap.Type) bool { return t == regmap.F32 || t == regmap.F64 }
