package learn

import (
	"math"
	"slices"

	"legwork/probe/reading"
)

// What a voltmeter shows, held against voltages that have no scale yet.

// lowShown reports a voltage too low for the mains that a voltmeter shows.
func (l *library) lowShown(s *series) bool {
	_, ok := l.lowTen(s)
	return ok
}

// lowTen is the power of ten that makes it that voltage.
func (l *library) lowTen(s *series) (ten int, ok bool) {
	for _, m := range l.measured {
		if s.low <= 0 || m.Point.Quantity != reading.Voltage || m.Value < 5 || m.Value > leastMains {
			continue
		}
		if ten = 0; !s.float() {
			ten = int(math.Round(math.Log10(m.Value / s.mid)))
		}
		if math.Abs(s.mid*math.Pow10(ten)-m.Value) < 0.03*m.Value {
			return ten, true
		}
	}
	return 0, false
}

// isMeasured reports what a voltmeter shows of channel k, from 0.
func (l *library) isMeasured(k int, volts float64) bool {
	return slices.ContainsFunc(l.measured, func(m Measured) bool {
		return m.Point.Quantity == reading.Voltage && m.Point.Index == k+1 && math.Abs(m.Value-volts) < 0.03*m.Value+0.3
	})
}

// measuredAmong is one of a group's values that a voltmeter shows but for the
// power of ten, 0 where there is none.
func (l *library) measuredAmong(sizes []float64) float64 {
	for k, x := range sizes {
		if x > 0 && l.isMeasured(k, x*math.Pow10(tens(x))) {
			return x
		}
	}
	return 0
}

// unlikeMeasured lowers the score where a voltmeter shows something else.
func (l *library) unlikeMeasured(a *anchor) float64 {
	for _, m := range l.measured {
		if m.Point.Quantity != reading.Voltage || m.Point.Index > len(a.of) {
			continue
		}
		if x := a.of[m.Point.Index-1].x[0] * math.Pow10(a.ten); math.Abs(x-m.Value) > 0.06*m.Value+2 {
			return -5
		}
	}
	return 0
}
