package phasetest

import (
	"fmt"
	"regexp"
	"strings"

	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// mostVolts is the largest voltage that is believed: low voltage ends at 1000 V
// AC (IEC 60038).
const mostVolts = 1000

// shape is PAIR VALUE: two points, then blanks, a colon or an equals sign, then
// what the tester showed.
var shape = regexp.MustCompile(`(?i)^([A-Z]?[0-9]?) *(?:-|–|—|−| to ) *([A-Z]?[0-9]?)(?: *[:=] *| +)(.+)$`)

// pairShape is the pair alone.
var pairShape = regexp.MustCompile(`(?i)^([A-Z]?[0-9]?) *(?:-|–|—|−| to ) *([A-Z]?[0-9]?)$`)

// ParseReading reads one reading as a person types it: "A-1 0.3 V" (leg A to
// pole 1), "1-N 120 V" (pole 1 to neutral), "A-B 208" (two legs), "P1-P2 0 V"
// (two poles); on dead conductors "A-1 closed", "A-1 beep", "A-1 0.2 ohm" or
// "A-1 open", "A-1 OL". The error says
// what is wrong and what would be right.
func (t Test) ParseReading(text string) (Reading, error) {
	plain := strings.Join(strings.Fields(text), " ")
	parts := shape.FindStringSubmatch(plain)
	if parts == nil {
		return Reading{}, fmt.Errorf("%q is not a reading; write it such as %q", text, t.Example())
	}
	pair, err := t.parsePair(parts[1], parts[2])
	if err != nil {
		return Reading{}, fmt.Errorf("%q: %w", text, err)
	}
	r, err := t.parseValue(pair, parts[3])
	if err != nil {
		return Reading{}, fmt.Errorf("%q: %w", text, err)
	}
	return r, nil
}

// ParseAnswer reads what a person types when asked for a pair: the value alone, or
// another pair with its value.
func (t Test) ParseAnswer(p Pair, text string) (Reading, error) {
	if shape.MatchString(strings.Join(strings.Fields(text), " ")) {
		return t.ParseReading(text)
	}
	return t.parseValue(p, text)
}

// Example is a reading that this test takes.
func (t Test) Example() string {
	value := " 0.3 V"
	if t.Dead {
		value = " closed"
	}
	return PairName(t.Service, cross(1, 1)) + value
}

// parsePair reads two points. A bare digit is a pole; but where the legs have
// numbers, the first of two bare digits is the leg.
func (t Test) parsePair(from, to string) (Pair, error) {
	bare := len(from) == 1 && len(to) == 1 && isDigit(from[0]) && isDigit(to[0])
	if bare && numbered(t.Service) {
		from = "L" + from
	} else if bare {
		return Pair{}, fmt.Errorf("which of the two is a leg? name legs by letter, such as A-%s, or two poles as P%s-P%s", to,
			from, to)
	}
	a, err := t.parsePoint(from)
	if err != nil {
		return Pair{}, err
	}
	b, err := t.parsePoint(to)
	if err != nil {
		return Pair{}, err
	}
	if a == b {
		return Pair{}, fmt.Errorf("both ends are the same point; name a leg and a pole, such as %s",
			PairName(t.Service, cross(1, 1)))
	}
	return pairOf(a, b), nil
}

func isDigit(c byte) bool { return c >= '0' && c <= '9' }

// parsePoint reads A, B, C or L1, L2, L3 for legs, 1, 2, 3 or P1, P2, P3 for
// poles, N for the neutral.
func (t Test) parsePoint(text string) (Point, error) {
	name := strings.ToUpper(text)
	var p Point
	switch {
	case name == "N":
		p.Kind = Neutral
	case len(name) == 1 && name[0] >= 'A' && name[0] <= 'C':
		p = Point{Leg, int(name[0]-'A') + 1}
	case len(name) == 1 && isDigit(name[0]):
		p = Point{Pole, int(name[0] - '0')}
	case len(name) == 2 && name[0] == 'L':
		p = Point{Leg, int(name[1] - '0')}
	case len(name) == 2 && name[0] == 'P':
		p = Point{Pole, int(name[1] - '0')}
	default:
		return p, fmt.Errorf("%q is no point of this test; there are %s", text, t.points())
	}
	missing := p.Kind == Neutral && !hasNeutral(t.Service)
	if missing || p.Kind != Neutral && (p.Number < 1 || p.Number > t.Poles()) {
		return p, fmt.Errorf("%s has no %s; there are %s", t.Service.Name, text, t.points())
	}
	return p, nil
}

// points lists what can be touched.
func (t Test) points() string {
	n := t.Poles()
	text := "leg " + LegName(t.Service, 1) + ", pole 1"
	if n > 1 {
		text = fmt.Sprintf("legs %s to %s, poles 1 to %d", LegName(t.Service, 1), LegName(t.Service, n), n)
	}
	if hasNeutral(t.Service) {
		return text + ", and N"
	}
	return text
}

// alternating is what some write behind the V of a volt.
var alternating = regexp.MustCompile(`(?i)v ?(?:ac|~)?$`)

// parseValue reads what the tester showed at a pair.
func (t Test) parseValue(p Pair, text string) (Reading, error) {
	r := Reading{Pair: p}
	if t.Dead {
		var err error
		r.Closed, err = parseContinuity(text)
		if said := strings.Join(strings.Fields(text), " "); !strings.EqualFold(said, t.shown(r)) {
			r.Said = said
		}
		return r, err
	}
	if _, err := parseContinuity(text); err == nil {
		return r, fmt.Errorf("%s is continuity, which is read on dead conductors only (--dead); a live test wants volts: "+
			"at OL, a higher range", text)
	}
	volts, err := reading.ParseQuantity(alternating.ReplaceAllString(strings.TrimSpace(text), "V"), "V")
	switch {
	case err != nil:
		return r, err
	case volts < 0:
		return r, fmt.Errorf("%g V is below zero; an AC voltage has no sign: set the tester to AC and read again", volts)
	case volts > mostVolts:
		return r, fmt.Errorf("%g V is above %d V, where low voltage ends; no service here reads that", volts, mostVolts)
	}
	r.Volts = max(volts, 0) // -0 is 0
	return r, nil
}

// Write gives a reading as ParseReading reads it.
func (t Test) Write(r Reading) string { return PairName(t.Service, r.Pair) + " " + t.shown(r) }

// shown is the value alone.
func (t Test) shown(r Reading) string {
	switch {
	case t.Dead && r.Closed:
		return "closed"
	case t.Dead:
		return "open"
	}
	return fmt.Sprintf("%s V", strings.TrimSuffix(strings.TrimRight(fmt.Sprintf("%.3f", r.Volts), "0"), "."))
}

// ParseHighLeg reads the letter of the leg that stands high on a four-wire delta.
func ParseHighLeg(s wiring.Service, text string) (wiring.Leg, error) {
	at := strings.Index("ABC", strings.ToUpper(text))
	switch {
	case s.Kind != wiring.HighLegDelta:
		return wiring.NoLeg, fmt.Errorf("%s has no high leg; only 120/240D has one", s.Name)
	case at < 0 || len(text) != 1:
		return wiring.NoLeg, fmt.Errorf("%q is not a leg; say A, B or C", text)
	}
	return wiring.Leg(at + 1), nil
}
