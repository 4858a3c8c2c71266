package clamp

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"

	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// Read is one value that a person read off an instrument.
type Read struct {
	Leg      int              // 1 to 3: the conductor of that voltage input
	Quantity reading.Quantity // Current or Voltage, the latter of the leg to neutral
	Value    float64          // A or V, above zero
	Digit    float64          // A or V: one step of the last digit that was read
}

var readForm = regexp.MustCompile(`^(?i)(?:clamp +)?leg *([0-9]+) *: *(.+?)$`)

// errReadForm shows what can be said.
var errReadForm = errors.New("say `leg 2: 41.3 A` or `leg 2: 120.4 V`")

// most is the largest value that an instrument of this kind shows, in A or V.
// Our choice, no source.
const most = 1e5

// ParseRead reads a value as people write it down: "leg 2: 41.3 A",
// "leg 1: 0,41 kV". The digits after the decimal point say what one digit of
// the instrument is. The error is one line that says what would be right.
func ParseRead(text string) (Read, error) {
	m := readForm.FindStringSubmatch(strings.Join(strings.Fields(text), " "))
	if m == nil {
		return Read{}, fmt.Errorf("%q is not understood; %w", text, errReadForm)
	}
	leg, err := strconv.Atoi(m[1])
	if err != nil || leg < 1 || leg > reading.MaxChannels {
		return Read{}, fmt.Errorf("%q: legs are 1, 2 and 3", text)
	}
	r := Read{Leg: leg}
	unit, value := "", strings.TrimSpace(m[2])
	switch {
	case strings.HasSuffix(value, "A"), strings.HasSuffix(value, "a"):
		r.Quantity, unit = reading.Current, "A"
	case strings.HasSuffix(value, "V"), strings.HasSuffix(value, "v"):
		r.Quantity, unit = reading.Voltage, "V"
	default:
		return Read{}, fmt.Errorf("%q has no unit; %w", text, errReadForm)
	}
	value = value[:len(value)-1] + unit
	if r.Value, err = reading.ParseQuantity(value, unit); err != nil {
		return Read{}, fmt.Errorf("leg %d: %w", leg, err)
	}
	if !(r.Value > 0) || r.Value > most {
		return Read{}, fmt.Errorf("%q: a reading to compare is above 0 and at most %g %s", text, most, unit)
	}
	r.Digit = digitOf(value, unit)
	return r, nil
}

// digitOf is one step of the last digit written, in the unit.
func digitOf(value, unit string) float64 {
	factor, _ := reading.ParseQuantity("1 "+strings.TrimLeft(value, "0123456789.,'+ ’\u00a0\u202f"), unit)
	number := strings.TrimRight(value, "kmM"+unit+" ")
	after := 0
	if at := strings.LastIndexAny(number, ".,"); at >= 0 && !groups(number, at) {
		after = len(number) - at - 1
	}
	if factor == 0 {
		factor = 1
	}
	return factor * math.Pow10(-after)
}

// groups reports a separator at a place that only groups digits: one of several alike.
func groups(number string, at int) bool {
	return strings.Count(number, number[at:at+1]) > 1
}

// Evidence is the read as `diagnose --seen` understands it; empty for a voltage.
func (r Read) Evidence() string {
	if r.Quantity != reading.Current {
		return ""
	}
	return fmt.Sprintf("clamp leg %d: %s A", r.Leg, strconv.FormatFloat(r.Value, 'f', -1, 64))
}

// ParseReads reads several values. Twice the same leg and unit is refused.
func ParseReads(texts []string) ([]Read, error) {
	type place struct {
		leg int
		q   reading.Quantity
	}
	taken := map[place]bool{}
	var all []Read
	for _, text := range texts {
		r, err := ParseRead(text)
		if err != nil {
			return nil, err
		}
		at := place{r.Leg, r.Quantity}
		if taken[at] {
			return nil, fmt.Errorf("%q: the %s of leg %d is given twice; keep the one that was read while the meter was", text,
				r.Quantity, r.Leg)
		}
		taken[at] = true
		all = append(all, r)
	}
	return all, nil
}

// CheckReads refuses reads that a service can't have. The zero service has all.
func CheckReads(s wiring.Service, reads []Read) error {
	for _, r := range reads {
		switch {
		case s.Kind == 0:
		case r.Leg > s.Legs():
			return fmt.Errorf("leg %d: %s has no such leg", r.Leg, s.Name)
		case s.Kind == wiring.Delta && r.Quantity == reading.Voltage:
			return fmt.Errorf("leg %d: %s has no neutral to measure to; compare line voltages by hand", r.Leg, s.Name)
		case s.Kind == wiring.Delta && r.Leg == 2:
			return fmt.Errorf("leg 2: on %s no CT measures it; clamp legs 1 and 3", s.Name)
		}
	}
	return nil
}
