package energy

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"

	"legwork/diagnose/wiring"
)

// AssumedFault is a fault, or several at once, that a person assumes: what each
// channel, channel 1 first, then measures. ParseAssumedFault makes one.
type AssumedFault struct {
	service wiring.Service
	text    string
	ct      wiring.Arrangement
	gain    [3]float64 // of the current: what the meter makes of it over what flows; 0 for nothing
	volts   [3]float64 // of the voltage input over nominal; 0 for a dead one
}

// String is the fault as it was written.
func (a AssumedFault) String() string { return a.text }

// form is one form of the grammar. set changes nothing where it gives an error.
type form struct {
	pattern *regexp.Regexp
	example string
	set     func(a *AssumedFault, m []string) error
}

func formOf(pattern, example string, set func(*AssumedFault, []string) error) form {
	return form{regexp.MustCompile("^" + pattern + "$"), example, set}
}

// ofChannel is a form that begins with a channel: set gets its index, which the
// service has, and what else the pattern caught.
func ofChannel(pattern, example string, set func(a *AssumedFault, k int, m []string) error) form {
	return formOf(pattern, example, func(a *AssumedFault, m []string) error {
		k, err := a.channel(m[0])
		if err != nil {
			return err
		}
		return set(a, k, m[1:])
	})
}

func forms() []form {
	const number = `([0-9]+(?:\.[0-9]+)?)`
	const ratio = number + `/([15])`
	return []form{
		ofChannel(`ct ([1-3]) reversed`, "ct 1 reversed", setReversed),
		formOf(`(?:all )?cts reversed`, "cts reversed", setAllReversed),
		ofChannel(`cts? ([1-3]) and ([1-3]) crossed`, "cts 2 and 3 crossed", setCrossed),
		formOf(`cts rolled( back)?`, "cts rolled", setRolled),
		ofChannel(`ct ([1-3]) on leg ([1-3])`, "ct 2 on leg 1", setOnLeg),
		ofChannel(`ct ([1-3]) (?:dead|open|reads nothing)`, "ct 2 dead", setDeadCT),
		ofChannel(`input ([1-3]) (?:dead|open)`, "input 3 dead", setDeadInput),
		ofChannel(`input ([1-3]) at `+number+` ?%`, "input 3 at 50 %", setInputAt),
		ofChannel(`ct ([1-3]) ([+-])`+number+` ?%`, "ct 2 -40 %", setOff),
		ofChannel(`ct ([1-3]) `+ratio+` for `+ratio, "ct 2 400/5 for 300/5", setRatio),
	}
}

// AssumedFaultExamples shows every form of the grammar.
func AssumedFaultExamples() []string {
	var all []string
	for _, f := range forms() {
		all = append(all, f.example)
	}
	return all
}

// ParseAssumedFault reads a comma list of faults on a service, in the order in
// which they were made. The error shows what can be said.
func ParseAssumedFault(s wiring.Service, text string) (AssumedFault, error) {
	one := [3]float64{1, 1, 1}
	a := AssumedFault{service: s, text: strings.Join(strings.Fields(text), " "), ct: s.Right(), gain: one, volts: one}
	for part := range strings.SplitSeq(text, ",") {
		if err := a.add(part); err != nil {
			return AssumedFault{}, err
		}
	}
	return a, nil
}

func (a *AssumedFault) add(part string) error {
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
	return fmt.Errorf("%q is not understood; say one of, or several with commas: %s",
		plain, strings.Join(AssumedFaultExamples(), "; "))
}

// channel is the index of a channel that the service has.
func (a *AssumedFault) channel(text string) (int, error) {
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

func setReversed(a *AssumedFault, k int, _ []string) error {
	a.ct[k] = a.ct[k].Turned()
	return nil
}

func setAllReversed(a *AssumedFault, _ []string) error {
	for k := range a.service.Channels() {
		a.ct[k] = a.ct[k].Turned()
	}
	return nil
}

func setCrossed(a *AssumedFault, j int, m []string) error {
	k, err := a.channel(m[0])
	switch {
	case err != nil:
		return err
	case j == k:
		return errors.New("a CT can't be crossed with itself")
	}
	a.ct[j], a.ct[k] = a.ct[k], a.ct[j]
	return nil
}

// setRolled moves CT 1 to leg 2, 2 to 3 and 3 to 1, or back.
func setRolled(a *AssumedFault, m []string) error {
	if a.service.Channels() < 3 {
		return fmt.Errorf("a roll needs three CTs, and %s has %d", a.service.Name, a.service.Channels())
	}
	by := 1
	if m[0] != "" {
		by = 2
	}
	old := a.ct
	for k := range old {
		a.ct[k] = old[(k+by)%3]
	}
	return nil
}

func setOnLeg(a *AssumedFault, k int, m []string) error {
	leg := int(m[0][0] - '0')
	if leg > a.service.Legs() {
		return fmt.Errorf("%s has no leg %d", a.service.Name, leg)
	}
	a.ct[k].Leg = wiring.Leg(leg)
	return nil
}

func setDeadCT(a *AssumedFault, k int, _ []string) error {
	a.gain[k] = 0
	return nil
}

func setDeadInput(a *AssumedFault, k int, _ []string) error {
	a.volts[k] = 0
	return nil
}

func setInputAt(a *AssumedFault, k int, m []string) error {
	share := value(m[0]) / 100
	if share > 2 {
		return errors.New("a voltage input at over 200 % is not possible")
	}
	a.volts[k] = share
	return nil
}

func setOff(a *AssumedFault, k int, m []string) error {
	off := value(m[1]) / 100
	if m[0] == "-" {
		off = -off
	}
	if off < -1 || off > 10 {
		return errors.New("a CT is off by -100 % to +1000 %")
	}
	a.gain[k] *= 1 + off
	return nil
}

// setRatio is a CT of one ratio where the meter is set for another: "400/5 for
// 300/5" gives three quarters of the current.
func setRatio(a *AssumedFault, k int, m []string) error {
	is, set := value(m[0])/value(m[1]), value(m[2])/value(m[3])
	if is == 0 || set == 0 || math.IsInf(set/is, 0) {
		return errors.New("a ratio of nothing is not possible")
	}
	a.gain[k] *= set / is
	return nil
}
