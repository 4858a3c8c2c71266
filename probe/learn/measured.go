package learn

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"legwork/probe/reading"
)

// Measured is what an instrument shows, or the meter's own display. What has no minus
// may have no sign: a clamp shows none.
type Measured struct {
	Point reading.Point
	Value float64 // SI, or Wh; below zero for a power only
}

// String is as ParseMeasured reads it.
func (m Measured) String() string {
	what := fmt.Sprintf("channel %d", m.Point.Index)
	switch m.Point.Quantity {
	case reading.TotalPower, reading.TotalEnergyImport:
		what = "total"
	case reading.Frequency:
		what = "frequency"
	}
	return fmt.Sprintf("%s: %g %s", what, m.Value, m.Point.Quantity.Unit())
}

// ofChannel and ofTotal list what can be measured.
var (
	ofChannel = []reading.Quantity{reading.Voltage, reading.Current, reading.Power, reading.Reactive, reading.Apparent,
		reading.EnergyImport}
	ofTotal = []reading.Quantity{reading.TotalPower, reading.TotalEnergyImport}
	ofWhole = []reading.Quantity{reading.Frequency}
)

// ParseMeasured reads "channel 1: 121.4 V", "total: 12 kW", "frequency: 60 Hz".
// The error says what is wrong and what would be right.
func ParseMeasured(text string) (Measured, error) {
	what, value, ok := strings.Cut(text, ":")
	words := strings.Fields(strings.ToLower(what))
	if !ok || strings.TrimSpace(value) == "" {
		return Measured{}, fmt.Errorf("%q says no value; write it as in %q, %q or %q", text, "channel 1: 121.4 V",
			"total: 12 kW", "frequency: 60 Hz")
	}
	quantities, index := ofTotal, 0
	switch {
	case len(words) == 2 && words[0] == "channel":
		k, err := strconv.Atoi(words[1])
		if err != nil || k < 1 || k > reading.MaxChannels {
			return Measured{}, fmt.Errorf("%q: channels are 1 to %d, not %q", text, reading.MaxChannels, words[1])
		}
		quantities, index = ofChannel, k
	case slices.Equal(words, []string{"frequency"}):
		quantities = ofWhole
	case !slices.Equal(words, []string{"total"}):
		return Measured{}, fmt.Errorf("%q: %q is not measured here; write %q, %q or %q", text, strings.TrimSpace(what),
			"channel N", "total", "frequency")
	}
	return parseValue(text, value, quantities, index)
}

// parseValue finds the quantity by its unit.
func parseValue(text, value string, quantities []reading.Quantity, index int) (Measured, error) {
	units := make([]string, len(quantities))
	for i, q := range quantities {
		units[i] = q.Unit()
		if q.Unit() == "" || !strings.HasSuffix(strings.TrimSpace(value), q.Unit()) || followsLetter(value, q.Unit()) {
			continue
		}
		x, err := reading.ParseQuantity(value, q.Unit())
		if err != nil {
			return Measured{}, fmt.Errorf("%q: %w", text, err)
		}
		return Shows(reading.Point{Quantity: q, Index: index}, x), nil
	}
	return Measured{}, fmt.Errorf("%q: give the unit, one of %s, with k or M before it where needed", text,
		strings.Join(units, ", "))
}

// Shows is what is measured where an instrument shows a value: voltages and currents are
// sizes, whichever way round its leads are.
func Shows(p reading.Point, x float64) Measured {
	switch p.Quantity {
	case reading.Power, reading.Reactive, reading.TotalPower:
		return Measured{p, x}
	}
	return Measured{p, math.Abs(x)}
}

// followsLetter reports that a value's unit only ends like another: "VA" ends
// like "A".
func followsLetter(value, unit string) bool {
	before := strings.TrimSuffix(strings.TrimSpace(value), unit)
	switch {
	case before == "":
		return true
	case strings.HasSuffix(before, "V") || strings.HasSuffix(before, "v"):
		return true
	}
	return false
}

// measuredOf is what was measured of a point; false where nothing was.
func (l *library) measuredOf(p reading.Point) (float64, bool) {
	i := slices.IndexFunc(l.measured, func(m Measured) bool { return m.Point == p })
	if i < 0 {
		return 0, false
	}
	return l.measured[i].Value, true
}

// isTold reports a point that was measured.
func (l *library) isTold(p reading.Point) bool {
	_, is := l.measuredOf(p)
	return is
}

// logFit is the logarithm of how likely an instrument shows what it does where
// the meter reads x. Instruments, CTs and the time between the two allow some
// parts in a hundred; now and then a wrong conductor is measured. A power that is
// small beside its volts times amperes changes by more.
func (m Measured) logFit(x, apparent float64) float64 {
	x = math.Abs(x)
	if x == 0 || m.Value == 0 {
		if small := math.Max(x, m.Value); small < 0.3 {
			return 0
		}
		return -6
	}
	ratio := m.Value / x
	volts, power := m.Point.Quantity == reading.Voltage, m.Point.Quantity == reading.Power
	switch far := ratio > 4 || ratio < 0.25; {
	case far && volts:
		return logFarVolts
	case far && !power:
		return logFar
	}
	off := math.Log(ratio)
	if volts {
		return math.Log(0.9*gaussian(off, 0.012) + 0.095*gaussian(off, 0.04) + 0.005/8)
	}
	if power {
		near := math.Min(0.5, math.Hypot(0.03, 0.02*apparent/x))
		return math.Log(0.7*gaussian(off, near) + 0.27*gaussian(off, 0.15+2*near) + 0.03/8)
	}
	return math.Log(0.7*gaussian(off, 0.03) + 0.27*gaussian(off, 0.15) + 0.03/8)
}

// What is left of that where a value is anywhere.
var (
	logFarVolts = math.Log(0.005 / 8)
	logFar      = math.Log(0.03 / 8)
)
