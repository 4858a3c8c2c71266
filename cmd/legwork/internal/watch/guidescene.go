package watch

import (
	"fmt"

	"legwork/diagnose"
	"legwork/diagnose/wiring"
)

// scene is what a step is judged against.
type scene struct {
	service wiring.Service
	volts   [3]float64 // degrees of the voltage inputs
	known   bool       // these
}

func sceneOf(r diagnose.Result) scene {
	s, err := wiring.ParseService(r.Service.Name)
	sc := scene{service: s, known: err == nil && len(r.Channels) > 0}
	for i, c := range r.Channels {
		a, ok := c.VoltageAngle.Get()
		sc.volts[i] = float64(a)
		sc.known = sc.known && (ok || i == 0)
	}
	if s.Kind == wiring.SplitPhase { // two legs at 180 degrees, whatever the meter tells
		sc.volts, sc.known = [3]float64{0, 180, 0}, true
	}
	if s.Kind == wiring.Delta || s.Kind == wiring.HighLegDelta {
		sc.known = false // a channel's voltage isn't that of a leg alone
	}
	return sc
}

// home is the channel, from 0, whose CT belongs on a leg; -1 for none.
func (s scene) home(leg int) int {
	for k := range s.service.Channels() {
		if int(s.service.HomeLeg(wiring.Channel(k+1))) == leg {
			return k
		}
	}
	return -1
}

// orReturn names the other leg of the load on a three-wire delta, where a load
// on one leg alone can't be.
func (s scene) orReturn() string {
	if s.service.Kind == wiring.Delta {
		return " or on leg 2, which carries the same load"
	}
	return ""
}

// CheckLeg refuses a leg that the service lacks or on which no CT belongs.
func CheckLeg(service string, leg int) error {
	s, err := wiring.ParseService(service)
	if err != nil {
		if leg < 1 || leg > 3 {
			return fmt.Errorf("leg %d: legs are numbered 1 to 3", leg)
		}
		return nil
	}
	if leg < 1 || leg > s.Legs() {
		return fmt.Errorf("leg %d: the service %s has legs 1 to %d", leg, s.Name, s.Legs())
	}
	if (scene{service: s}).home(leg) < 0 {
		return fmt.Errorf("leg %d: on the service %s no CT belongs there; take another leg", leg, s.Name)
	}
	return nil
}
