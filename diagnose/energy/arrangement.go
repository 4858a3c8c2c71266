package energy

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"

	"legwork/diagnose/wiring"
)

// Arrangement is what an assumed fault makes of each channel, channel 1 first.
// ParseArrangement makes one.
type Arrangement struct {
	service wiring.Service
	text    string
	ct      wiring.Arrangement
	gain    [3]float64 // of the current: what the meter makes of it over what flows; 0 for nothing
	volts   [3]float64 // of the voltage input over nominal; 0 for a dead one
}

// String is the arrangement as it was written.
func (a Arrangement) String() string { return a.text }

// form is one form of the grammar.
type form struct {
	pattern *regexp.Regexp
	example string
	set     func(a *Arrangement, m []string) error
}

func formOf(pattern, example string, set func(*Arrangement, []string) error) form {
	return form{regexp.MustCompile("^" + pattern + "$"), example, set}
}

func forms() []form {
	number := `([0-9]+(?:\.[0-9]+)?)`
	return []form{
		formOf(`ct ([1-3]) reversed`, "ct 1 reversed", setReversed),
		formOf(`(?:all )?cts reversed`, "cts reversed", setAllReversed),
		formOf(`cts? ([1-3]) and ([1-3]) crossed`, "cts 2 and 3 crossed", setCrossed),
		formOf(`cts rolled( back)?`, "cts rolled", setRolled),
		formOf(`ct ([1-3]) on leg ([1-3])`, "ct 2 on leg 1", setOnLeg),
		formOf(`ct ([1-3]) (?:dead|open|reads nothing)`, "ct 2 dead", setDeadCT),
		formOf(`input ([1-3]) (?:dead|open)`, "input 3 dead", setDeadInput),
		formOf(`input ([1-3]) at `+number+` ?%`, "input 3 at 50 %", setInputAt),
		formOf(`ct ([1-3]) ([+-])`+number+` ?%`, "ct 2 -40 %", setOff),
		formOf(`ct ([1-3]) `+number+`/([15]) for `+number+`/([15])`, "ct 2 400/5 for 300/5", setRatio),
	}
}

// ArrangementExamples shows every form of the grammar.
func ArrangementExamples() []string {
	var all []string
	for _, f := range forms() {
		all = append(all, f.example)
	}
	return all
}

// ParseArrangement reads a comma list of faults on a service, in the order in
// which they were made. The error shows what can be said.
func ParseArrangement(s wiring.Service, text string) (Arrangement, error) {
	a := Arrangement{service: s, text: strings.Join(strings.Fields(text), " "), ct: s.Right(), gain: [3]float64{1, 1, 1}, volts: [3]float64{1, 1, 1}}
	for part := range strings.SplitSeq(text, ",") {
		if err := a.add(part); err != nil {
			return Arrangement{}, err
		}
	}
	return a, nil
}

func (a *Arrangement) add(part string) error {
	plain := strings.ToLower(strings.Join(strings.Fields(part), " "))
	plain = strings.ReplaceAll(plain, "−", "-")
	for _, f := range forms() {
		if m := f.pattern.FindStringSubmatch(plain); m != nil {
			if err := f.set(a, m[1:]); err != nil {
				return fmt.Errorf("%q: %w", plain, err)
			}
			return nil
		}
	}
	return fmt.Errorf("%q is not understood; say one of, or several with commas: %s", plain, strings.Join(ArrangementExamples(), "; "))
}

// channel is the index of a channel that the service has.
func (a *Arrangement) channel(text string) (int, error) {
	k := int(text[0] - '1')
	if k >= a.service.Channels() {
		return 0, fmt.Errorf("%s has no channel %d", a.service.Name, k+1)
	}
	return k, nil
}

func value(text string) float64 {
	x, _ := strconv.ParseFloat(text, 64) // the pattern lets nothing else through
	return x
}

func setReversed(a *Arrangement, m []string) error {
	k, err := a.channel(m[0])
	a.ct[k] = a.ct[k].Turned()
	return err
}

func setAllReversed(a *Arrangement, _ []string) error {
	for k := range a.service.Channels() {
		a.ct[k] = a.ct[k].Turned()
	}
	return nil
}

func setCrossed(a *Arrangement, m []string) error {
	j, err := a.channel(m[0])
	if err != nil {
		return err
	}
	k, err := a.channel(m[1])
	if j == k && err == nil {
		return fmt.Errorf("a CT can't be crossed with itself")
	}
	a.ct[j], a.ct[k] = a.ct[k], a.ct[j]
	return err
}

// setRolled moves CT 1 to leg 2, 2 to 3 and 3 to 1, or back.
func setRolled(a *Arrangement, m []string) error {
	if a.service.Channels() < 3 {
		return fmt.Errorf("a roll needs three CTs, and %s has %d", a.service.Name, a.service.Channels())
	}
	old := a.ct
	for k := range old {
		if m[0] == "" {
			a.ct[k] = old[(k+1)%3]
		} else {
			a.ct[k] = old[(k+2)%3]
		}
	}
	return nil
}

func setOnLeg(a *Arrangement, m []string) error {
	k, err := a.channel(m[0])
	if err != nil {
		return err
	}
	leg := int(m[1][0] - '0')
	if leg > a.service.Legs() {
		return fmt.Errorf("%s has no leg %d", a.service.Name, leg)
	}
	a.ct[k].Leg = wiring.Leg(leg)
	return nil
}

func setDeadCT(a *Arrangement, m []string) error {
	k, err := a.channel(m[0])
	a.gain[k] = 0
	return err
}

func setDeadInput(a *Arrangement, m []string) error {
	k, err := a.channel(m[0])
	a.volts[k] = 0
	return err
}

func setInputAt(a *Arrangement, m []string) error {
	k, err := a.channel(m[0])
	if a.volts[k] = value(m[1]) / 100; a.volts[k] > 2 {
		return fmt.Errorf("a voltage input at over 200 %% is not possible")
	}
	return err
}

func setOff(a *Arrangement, m []string) error {
	k, err := a.channel(m[0])
	off := value(m[2]) / 100
	if m[1] == "-" {
		off = -off
	}
	if off < -1 || off > 10 {
		return fmt.Errorf("a CT is off by -100 %% to +1000 %%")
	}
	a.gain[k] *= 1 + off
	return err
}

// setRatio is a CT of one ratio where the meter is set for another: "400/5 for
// 300/5" gives three quarters of the current.
func setRatio(a *Arrangement, m []string) error {
	k, err := a.channel(m[0])
	is, set := value(m[1])/value(m[2]), value(m[3])/value(m[4])
	if is == 0 || set == 0 || math.IsInf(set/is, 0) {
		return fmt.Errorf("a ratio of nothing is not possible")
	}
	a.gain[k] *= set / is
	return err
}
