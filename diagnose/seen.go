package diagnose

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"

	"legwork/diagnose/wiring"
)

// Seen is the result of a test that a person made, read by ParseSeen.
type Seen struct {
	text string
	// chance is the probability, 0 to 1, that the hypothesis gives to what was seen.
	chance func(h *hypothesis, amps *[3]float64) float64
	ways   ways

	clampAmps float64 // of a clamp's reading, A

	test    string // that was made, as NextTest names it
	leg     int    // it was made on; 0 for none
	channel int    // it speaks of; 0 for none
}

// String is the result as it was written.
func (s Seen) String() string { return s.text }

// ways is how many answers a test has on a service; at least two.
type ways func(s wiring.Service) int

func twoWays(wiring.Service) int { return 2 }

// stepWays: some channel up or down, or nothing.
func stepWays(s wiring.Service) int { return 2*s.Channels() + 1 }

// seenForm is one form of the grammar. Its pattern names the groups that are a
// leg and a channel.
type seenForm struct {
	test    string
	pattern *regexp.Regexp
	example string
	make    func(n []string) func(h *hypothesis, amps *[3]float64) float64
	ways    ways
}

// seenForms lists the grammar: one sentence a test, numbers for legs, channels
// and inputs, anything else as the examples have it.
func seenForms() []seenForm {
	return []seenForm{
		{"load-step", form(`leg (?P<leg>[1-3]) on: channel (?P<channel>[1-3]) (up|down)`), "leg 2 on: channel 3 up", seenStep, stepWays},
		{"load-step", form(`leg (?P<leg>[1-3]) on: nothing`), "leg 2 on: nothing", surely(seenNoStep), stepWays},
		{"look", form(`ct (?P<channel>[1-3]) arrow (right|wrong)`), "ct 2 arrow wrong", surely(seenArrow), twoWays},
		{"trace", form(`ct (?P<channel>[1-3]) (on|not on) leg ([1-3])`), "ct 2 on leg 3", surely(seenTrace), twoWays},
		{"sequence", form(`sequence (abc|acb)`), "sequence ACB", surely(seenSequence), twoWays},
		{"clamp", form(`clamp leg (?P<leg>[1-3]): ([0-9]+(?:[.,][0-9]+)?) ?a`), "clamp leg 2: 41.3 A", surely(seenClamp), twoWays},
		{"voltage", form(`input ([1-3]) to input ([1-3]): (0|line) ?v?`), "input 1 to input 2: 0 V", surely(seenVolts), twoWays},
	}
}

func form(s string) *regexp.Regexp { return regexp.MustCompile("^" + s + "$") }

// SeenExamples shows every form of the grammar.
func SeenExamples() []string {
	var all []string
	for _, f := range seenForms() {
		all = append(all, f.example)
	}
	return all
}

// ParseSeen reads the result of a test. The error shows what can be said.
func ParseSeen(text string) (Seen, error) {
	plain := strings.ToLower(strings.Join(strings.Fields(text), " "))
	for _, f := range seenForms() {
		groups := f.pattern.FindStringSubmatch(plain)
		if groups == nil {
			continue
		}
		number := func(name string) int {
			if at := f.pattern.SubexpIndex(name); at > 0 {
				return digitAt(groups[at]) + 1
			}
			return 0
		}
		s := Seen{text: text, chance: f.make(groups[1:]), ways: f.ways, test: f.test, leg: number("leg"), channel: number("channel")}
		if f.test == "clamp" {
			s.clampAmps = amperes(groups[2])
		}
		return s, nil
	}
	return Seen{}, fmt.Errorf("%q is not understood; say one of: %s", text, strings.Join(SeenExamples(), "; "))
}

func amperes(text string) float64 {
	x, _ := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64) // the pattern lets nothing else through
	return x
}

func digitAt(text string) int { return int(text[0] - '1') }

// surely makes a form of one whose outcome a hypothesis tells for certain.
func surely(outcome func(n []string) func(*hypothesis, *[3]float64) bool) func(n []string) func(*hypothesis, *[3]float64) float64 {
	return func(n []string) func(*hypothesis, *[3]float64) float64 {
		tells := outcome(n)
		return func(h *hypothesis, amps *[3]float64) float64 {
			if tells(h, amps) {
				return 1
			}
			return 0
		}
	}
}

// seenStep is a load that came on on one leg, so that the current of one channel
// rose, and with it rose or fell its power. Which of both, the load's own angle
// has a say in: it isn't known.
func seenStep(n []string) func(*hypothesis, *[3]float64) float64 {
	m, k, up := digitAt(n[0]), digitAt(n[1]), n[2] == "up"
	return func(h *hypothesis, _ *[3]float64) float64 {
		switch {
		case h.digit[k] < 0:
			return 1
		case h.takes(k, m) == 0:
			return 0
		case up:
			return h.powerRises(k, m)
		}
		return 1 - h.powerRises(k, m)
	}
}

func seenNoStep(n []string) func(*hypothesis, *[3]float64) bool {
	m := digitAt(n[0])
	return func(h *hypothesis, _ *[3]float64) bool {
		for k := range h.digit {
			if h.takes(k, m) != 0 {
				return false
			}
		}
		return true
	}
}

func seenArrow(n []string) func(*hypothesis, *[3]float64) bool {
	k, wrong := digitAt(n[0]), n[1] == "wrong"
	return func(h *hypothesis, _ *[3]float64) bool { return h.digit[k] < 0 || (h.digit[k]%2 == 1) == wrong }
}

func seenTrace(n []string) func(*hypothesis, *[3]float64) bool {
	k, m, on := digitAt(n[0]), digitAt(n[2]), n[1] == "on"
	return func(h *hypothesis, _ *[3]float64) bool { return h.digit[k] < 0 || (h.digit[k]/2 == m) == on }
}

func seenSequence(n []string) func(*hypothesis, *[3]float64) bool {
	return func(h *hypothesis, _ *[3]float64) bool { return strings.EqualFold(h.frame.sequence.String(), n[0]) }
}

// clampSlack is what the clamp's and the CT's errors may make together; common
// practice, no source.
const clampSlack = 0.08

// seenClamp compares a leg's current with that of the channel on it.
func seenClamp(n []string) func(*hypothesis, *[3]float64) bool {
	m := digitAt(n[0])
	read := amperes(n[1])
	return func(h *hypothesis, amps *[3]float64) bool {
		for k, d := range h.digit {
			if d >= 0 && d/2 == m {
				return math.Abs(amps[k]-read) <= clampSlack*math.Max(read, 1)
			}
		}
		return true
	}
}

// seenVolts is the voltage between two inputs: none on one conductor.
func seenVolts(n []string) func(*hypothesis, *[3]float64) bool {
	j, k, same := digitAt(n[0]), digitAt(n[1]), n[2] == "0"
	return func(h *hypothesis, _ *[3]float64) bool {
		return (h.frame.input[j] == h.frame.input[k]) == same
	}
}
