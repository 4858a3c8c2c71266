package loadstep

import (
	"fmt"
	"math"

	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// A person may switch a load of another leg than the one that they say. The channel that
// takes it is then where it belongs, and reads an ordinary load along its own voltage.
// Where that explains what was read, the step says nothing of the wiring, and asks.

// The angles of loads that a person switches for a test, degrees of lag: heat, lamps,
// motors. A CT turned round on a leg at 120 degrees reads heat at 60. Our choice, no
// source.
const (
	mostLead = 20.0
	mostLag  = 50.0
)

func ordinary(lag float64) bool { return lag >= -mostLead && lag <= mostLag }

// otherLeg says, after the change, why it may be a load on the channel's own leg where
// that isn't the leg that was said; empty where it can't.
func (l *Led) otherLeg(c *Change, in inputs) string {
	lag, known := c.ownLag()
	if !l.declared || c.Channel == l.home() || !known || !ordinary(lag) {
		return ""
	}
	leg := l.service.HomeLeg(wiring.Channel(c.Channel))
	rival := "isn't ruled out"
	if phi, told := l.lagOn(c, in); told && ordinary(phi) {
		rival = fmt.Sprintf("reads alike with CT %d reversed", c.Channel)
	} else if told {
		way := map[bool]string{true: "lag", false: "lead"}[phi > 0]
		rival = fmt.Sprintf("would %s by %.0f degrees, CT %d reversed", way, math.Abs(phi), c.Channel)
	}
	return fmt.Sprintf(", as a load on leg %d does. One on leg %d %s: was it on leg %d?", leg, l.Leg, rival, leg)
}

// ownLag is the load's angle behind the channel's own voltage, degrees; from V, I and P
// alone, of a load that lags.
func (c *Change) ownLag() (lag float64, known bool) {
	if theta, ok := c.Angle.Get(); ok {
		return float64(theta), true
	}
	watts, ok := c.Watts.Get()
	if !ok || c.Volts <= 0 || c.Amps <= 0 {
		return 0, false
	}
	return math.Acos(max(-1, min(1, watts/(c.Volts*c.Amps)))) * 180 / math.Pi, true
}

// lagOn is the load's angle behind the voltage of the leg that was said, whichever way the
// CT is turned there: within 90 degrees.
func (l *Led) lagOn(c *Change, in inputs) (phi float64, known bool) {
	theta, ok := c.Angle.Get()
	if !ok || !in.known {
		return 0, false
	}
	phi = float64(reading.Degrees(in.at[l.Leg-1] - in.at[c.Channel-1] + float64(theta)))
	if math.Abs(phi) > 90 {
		phi = float64(reading.Degrees(phi).Opposite())
	}
	return phi, true
}
