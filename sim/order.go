package sim

import (
	"cmp"
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"legwork/probe/reading"
)

// Order changes a place by a line such as "leg 1 on 1.5kW", "leg 1 off", "off wheel 2"
// and "on wheel 2" for a circuit's breaker, "fault ct2-reversed", "ct2-reversed" or
// "none". It gives what was done, in words; the error says what would be right.
func (p *Place) Order(line string) (done string, err error) {
	line = strings.Join(strings.Fields(line), " ")
	word, rest, _ := strings.Cut(line, " ")
	switch word {
	case "leg":
		return p.orderLeg(line)
	case "off", "on":
		if err := p.Break(rest, word == "off"); err != nil {
			return "", err
		}
		return fmt.Sprintf("circuit %s is %s", rest, word), nil
	case "fault":
		line = rest
	}
	if line == "none" {
		line = ""
	}
	if err := p.SetFault(line); err != nil {
		return "", fmt.Errorf("%w; or write leg 1 on 1.5kW, leg 1 off, off CIRCUIT, on CIRCUIT or none", err)
	}
	return "wired with " + cmp.Or(line, "no fault"), nil
}

var legOrder = regexp.MustCompile(`^leg ?([0-9]) (?:(off)|on (.+))$`)

func (p *Place) orderLeg(line string) (string, error) {
	parts := legOrder.FindStringSubmatch(line)
	if parts == nil {
		return "", fmt.Errorf("%q: write leg 1 on 1.5kW, or leg 1 off", line)
	}
	n, _ := strconv.Atoi(parts[1]) // one digit
	if parts[2] != "" {
		return fmt.Sprintf("the load on leg %d is off", n), p.SwitchLoad(n, 0)
	}
	watts, err := reading.ParseQuantity(parts[3], "W")
	switch {
	case err != nil:
		return "", err
	case watts <= 0 || watts > mostSwitched:
		return "", fmt.Errorf("%s: switch a load above 0 and up to %g kW", parts[3], mostSwitched/1000)
	}
	return fmt.Sprintf("a load of %g W is on leg %d", watts, n), p.SwitchLoad(n, watts)
}

// mostSwitched is the largest load, in W, that is switched by hand; our choice.
const mostSwitched = 100e3

// switching is a load that was switched by hand, from an instant on.
type switching struct {
	since float64 // seconds of the scenario
	watts float64 // 0 is off
}

// SwitchLoad puts a heater of so many watts on a leg, in place of the one that was
// switched on before, or with 0 takes it off: between the leg and the neutral; on a
// three-wire delta between leg 1 or 3 and leg 2, on which no CT is. The error is a
// leg that there isn't.
func (p *Place) SwitchLoad(n int, watts float64) error {
	s := p.scenario.Service
	switch {
	case n < 1 || n > s.Legs():
		return fmt.Errorf("leg %d: %s has %s", n, s.Name, legWords(s))
	case !s.HasNeutral() && n == 2:
		return fmt.Errorf("leg 2: on %s a load hangs between legs 1 and 2 (leg 1 on ...) or legs 3 and 2 (leg 3 on ...)",
			s.Name)
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.switched == nil {
		p.switched = map[int][]switching{}
	}
	p.switched[n] = append(p.switched[n], switching{p.seconds(), watts})
	return nil
}

// setSwitched sets the loads that are switched by hand to an instant. They come
// behind those of the scenario.
func (p *Place) setSwitched(seconds float64) {
	p.panel.Loads = p.panel.Loads[:len(p.scenario.Loads)]
	for n := 1; n <= p.scenario.Service.Legs(); n++ {
		watts := 0.0
		for _, one := range p.switched[n] {
			if one.since <= seconds {
				watts = one.watts
			}
		}
		across := ToNeutral(leg(n - 1))
		if !p.scenario.Service.HasNeutral() {
			across = Between(leg(n-1), LegB)
		}
		if watts > 0 {
			p.panel.Loads = append(p.panel.Loads, Load{Name: fmt.Sprintf("leg %d", n), Kind: Heat, Across: across, VA: watts})
		}
	}
}
