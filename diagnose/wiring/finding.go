package wiring

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
)

// Test is a test that a technician can make beside reading the meter.
type Test string

// The tests of which a Finding tells.
const (
	LoadStep     Test = "load-step" // a load on one leg is switched on
	Look         Test = "look"      // at the arrow of a CT and its lead marks
	Trace        Test = "trace"     // the conductor inside a CT to its breaker pole
	SequenceTest Test = "sequence"  // an indicator on the voltage inputs
	ClampTest    Test = "clamp"     // an ammeter round a leg
	VoltageTest  Test = "voltage"   // between two voltage inputs
	BankOff      Test = "bank-off"  // a capacitor bank or generation is switched off; no Finding tells of it
)

// Outcome is how a test came out.
type Outcome string

// The outcomes, by test.
const (
	PowerUp    Outcome = "up"      // LoadStep: a channel's current rose, and its power rose
	PowerDown  Outcome = "down"    // LoadStep: a channel's current rose, and its power fell
	NoChannel  Outcome = "nothing" // LoadStep: no channel took the load
	ArrowRight Outcome = "right"   // Look: it points along the power
	ArrowWrong Outcome = "wrong"   // Look
	OnLeg      Outcome = "on"      // Trace
	NotOnLeg   Outcome = "not on"  // Trace
	ShowsABC   Outcome = "ABC"     // SequenceTest
	ShowsACB   Outcome = "ACB"     // SequenceTest
	ShowsAmps  Outcome = "A"       // ClampTest: Finding.Amps
	NoVolts    Outcome = "0"       // VoltageTest: 0 V, one conductor
	LineVolts  Outcome = "line"    // VoltageTest: the line voltage, two conductors
)

// Finding is the result of one test.
type Finding struct {
	Test    Test
	Leg     int // 1 to 3: that the test is made on, or a CT is traced to; 0 for none
	Channel int // 1 to 3: of which it tells; of VoltageTest the first input; 0 for none
	Other   int // VoltageTest: the second input
	Outcome Outcome
	Amps    float64 // ClampTest: what it shows, A
}

// String is the finding as ParseFinding reads it.
func (f Finding) String() string {
	switch f.Test {
	case LoadStep:
		if f.Outcome == NoChannel {
			return fmt.Sprintf("leg %d on: nothing", f.Leg)
		}
		return fmt.Sprintf("leg %d on: channel %d %s", f.Leg, f.Channel, f.Outcome)
	case Look:
		return fmt.Sprintf("ct %d arrow %s", f.Channel, f.Outcome)
	case Trace:
		return fmt.Sprintf("ct %d %s leg %d", f.Channel, f.Outcome, f.Leg)
	case SequenceTest:
		return "sequence " + string(f.Outcome)
	case ClampTest:
		return fmt.Sprintf("clamp leg %d: %s A", f.Leg, strconv.FormatFloat(f.Amps, 'f', -1, 64))
	case VoltageTest:
		if f.Outcome == NoVolts {
			return fmt.Sprintf("input %d to input %d: 0 V", f.Channel, f.Other)
		}
		return fmt.Sprintf("input %d to input %d: line", f.Channel, f.Other)
	}
	return ""
}

// Sentences are findings as ParseFinding reads them.
func Sentences(all []Finding) []string {
	list := make([]string, len(all))
	for i, f := range all {
		list[i] = f.String()
	}
	return list
}

// Answers is how many ways a test can come out on a service; at least two.
func (f Finding) Answers(s Service) int {
	if f.Test == LoadStep {
		return 2*s.Channels() + 1 // some channel up or down, or none
	}
	return 2
}

// findingForm is one form of the grammar: a sentence a test, numbers for legs,
// channels and inputs, anything else as the example has it.
type findingForm struct {
	pattern *regexp.Regexp
	example string
	make    func(m []string) Finding
}

func findingForms() []findingForm {
	form := func(pattern, example string, make func([]string) Finding) findingForm {
		return findingForm{regexp.MustCompile("^" + pattern + "$"), example, make}
	}
	return []findingForm{
		form(`leg ([1-3]) on: channel ([1-3]) (up|down)`, "leg 2 on: channel 3 up", func(m []string) Finding {
			return Finding{Test: LoadStep, Leg: digit(m[0]), Channel: digit(m[1]), Outcome: Outcome(m[2])}
		}),
		form(`leg ([1-3]) on: nothing`, "leg 2 on: nothing", func(m []string) Finding {
			return Finding{Test: LoadStep, Leg: digit(m[0]), Outcome: NoChannel}
		}),
		form(`ct ([1-3]) arrow (right|wrong)`, "ct 2 arrow wrong", func(m []string) Finding {
			return Finding{Test: Look, Channel: digit(m[0]), Outcome: Outcome(m[1])}
		}),
		form(`ct ([1-3]) (on|not on) leg ([1-3])`, "ct 2 on leg 3", func(m []string) Finding {
			return Finding{Test: Trace, Channel: digit(m[0]), Outcome: Outcome(m[1]), Leg: digit(m[2])}
		}),
		form(`sequence (abc|acb)`, "sequence ACB", func(m []string) Finding {
			return Finding{Test: SequenceTest, Outcome: Outcome(strings.ToUpper(m[0]))}
		}),
		form(`clamp leg ([1-3]): ([0-9]+(?:[.,][0-9]+)?) ?a`, "clamp leg 2: 41.3 A", func(m []string) Finding {
			amps, _ := strconv.ParseFloat(strings.Replace(m[1], ",", ".", 1), 64) // the pattern lets nothing else through
			return Finding{Test: ClampTest, Leg: digit(m[0]), Outcome: ShowsAmps, Amps: amps}
		}),
		form(`input ([1-3]) to input ([1-3]): (0|line) ?v?`, "input 1 to input 2: 0 V", func(m []string) Finding {
			return Finding{Test: VoltageTest, Channel: digit(m[0]), Other: digit(m[1]), Outcome: Outcome(m[2])}
		}),
	}
}

// digit is the number that a pattern let through.
func digit(text string) int { return int(text[0] - '0') }

// FindingExamples shows every form of the grammar.
func FindingExamples() []string {
	var all []string
	for _, f := range findingForms() {
		all = append(all, f.example)
	}
	return all
}

// ParseFinding reads the result of a test as a person writes it. The error is a
// Refused that shows what can be said.
func ParseFinding(text string) (Finding, error) {
	plain := strings.ToLower(strings.Join(strings.Fields(text), " "))
	for _, f := range findingForms() {
		if m := f.pattern.FindStringSubmatch(plain); m != nil {
			return f.make(m[1:]), nil
		}
	}
	return Finding{}, Refused{What: fmt.Sprintf("%q is not understood", text), Mend: "say one of: " + strings.Join(FindingExamples(), "; ")}
}
