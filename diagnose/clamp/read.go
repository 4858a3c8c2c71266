package clamp

import (
	"cmp"
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

// readForm is a leg and a value. A bare number is a leg where a colon says so: "1 234 A"
// may be one value.
var readForm = regexp.MustCompile(`^(?i)(?:clamp +)?(?:(?:leg *|l)([0-9]+)(?: *[:=] *| +)|([0-9]+) *[:=] *)(.+?)$`)

// errReadForm shows what can be said.
var errReadForm = errors.New("say `leg 2: 41.3 A` or `leg 2: 120.4 V`")

// most is the largest value that an instrument of this kind shows, in A or V.
// Our choice, no source.
const most = 1e5

// ParseRead reads a value as people write it down: "leg 2: 41.3 A",
// "leg 1: 0,41 kV", "L2 97.6A", "2: 97.6 A". The digits after the decimal point say what one digit of
// the instrument is. The error is one line that says what would be right.
func ParseRead(text string) (Read, error) {
	m := readForm.FindStringSubmatch(strings.Join(strings.Fields(text), " "))
	if m == nil {
		return Read{}, fmt.Errorf("%q is not understood; %w", text, errReadForm)
	}
	leg, err := strconv.Atoi(m[1] + m[2]) // one of the two is empty
	if err != nil || leg < 1 || leg > reading.MaxChannels {
		return Read{}, fmt.Errorf("%q: legs are 1, 2 and 3", text)
	}
	value := strings.TrimSpace(m[3])
	switch value[len(value)-1] {
	case 'A', 'a':
		return parseValue(leg, text, value[:len(value)-1], reading.Current)
	case 'V', 'v':
		return parseValue(leg, text, value[:len(value)-1], reading.Voltage)
	}
	return Read{}, fmt.Errorf("%q has no unit; %w", text, errReadForm)
}

// units are those of what an instrument shows.
var units = map[reading.Quantity]string{reading.Current: "A", reading.Voltage: "V"}

// parseValue reads a number without its unit; text is what was typed.
func parseValue(leg int, text, number string, q reading.Quantity) (r Read, err error) {
	r.Leg, r.Quantity = leg, q
	unit := units[q]
	value := number + unit
	if r.Value, err = reading.ParseQuantity(value, unit); err != nil {
		return Read{}, fmt.Errorf("leg %d: %w", leg, err)
	}
	if !(r.Value > 0) || r.Value > most {
		return Read{}, fmt.Errorf("%q: a reading to compare is above 0 and at most %g %s", text, most, unit)
	}
	r.Digit = digitOf(value, unit)
	return r, nil
}

// ParseList reads the values of one instrument, leg 1 first: "87.3,97.6,92.0". A leg
// that wasn't read is left blank, as in "87.3,,92.0"; semicolons part values with a
// decimal comma.
func ParseList(text string, q reading.Quantity) ([]Read, error) {
	by := ","
	if strings.Contains(text, ";") {
		by = ";"
	}
	var all []Read
	for n, one := range strings.Split(text, by) {
		one = strings.TrimSpace(one)
		if one == "" {
			continue
		}
		if n >= reading.MaxChannels {
			return nil, fmt.Errorf("%q: legs are 1, 2 and 3, and this has %d; semicolons part values with a decimal comma, "+
				"such as 87,3;97,6;92,0", text, n+1)
		}
		unit := units[q]
		if last := strings.ToUpper(one[len(one)-1:]); last != unit && strings.ContainsAny(last, "AV") {
			return nil, fmt.Errorf("leg %d: %q is not in %s", n+1, one, unit)
		}
		r, err := parseValue(n+1, one, strings.TrimRight(one, unit+strings.ToLower(unit)+" "), q)
		if err != nil {
			return nil, err
		}
		all = append(all, r)
	}
	if len(all) == 0 {
		return nil, fmt.Errorf("%q has no value; say such as 87.3,97.6,92.0, leg 1 first", text)
	}
	return all, nil
}

// digitOf is one step of the last digit written, in the unit.
func digitOf(value, unit string) float64 {
	factor, _ := reading.ParseQuantity("1 "+strings.TrimLeft(value, "0123456789.,'+ ’\u00a0\u202f"), unit)
	number := strings.TrimRight(value, "kmM"+unit+" ")
	after := 0
	if at := strings.LastIndexAny(number, ".,"); at >= 0 && !groups(number, at) {
		after = len(number) - at - 1
	}
	factor = cmp.Or(factor, 1)
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

// ParseReads reads several values.
func ParseReads(texts []string) ([]Read, error) {
	var all []Read
	for _, text := range texts {
		r, err := ParseRead(text)
		if err != nil {
			return nil, err
		}
		all = append(all, r)
	}
	return all, nil
}

// CheckTwice refuses the same leg and unit twice.
func CheckTwice(reads []Read) error {
	type place struct {
		leg int
		q   reading.Quantity
	}
	taken := map[place]bool{}
	for _, r := range reads {
		at := place{r.Leg, r.Quantity}
		if taken[at] {
			return fmt.Errorf("the %s of leg %d is given twice; keep the one that was read while the meter was", r.Quantity,
				r.Leg)
		}
		taken[at] = true
	}
	return nil
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
