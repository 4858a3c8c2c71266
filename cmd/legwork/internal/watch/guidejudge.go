package watch

import (
	"fmt"
	"math"
	"math/cmplx"

	"legwork/diagnose/wiring"
)

// one is the plain case: one channel took the load.
func (g *Guide) one(k int, sc scene) {
	up, known := g.polarity(k, sc)
	if text := g.sentence(k, sc); text != "" {
		g.Seen = []string{text}
	}
	g.Says = fmt.Sprintf("Channel %d took it: %s", k+1, g.Step.channelWords(k)[len("channel 1 "):])
	switch {
	case k != sc.home(g.Leg):
		g.Outcome = Elsewhere
		g.Says += fmt.Sprintf(". CT %d sits on leg %d%s%s", k+1, g.Leg, sc.orReturn(), reversedWords(up, known))
	case known && !up:
		g.Outcome = Elsewhere
		g.Says += fmt.Sprintf(". CT %d sits on its leg, reversed", k+1)
	default:
		g.Outcome = AsExpected
		g.Says += ", as it should"
		if sc.service.Kind == wiring.Delta {
			g.Says += "; a CT on leg 2 would take it too"
		}
	}
}

func reversedWords(up, known bool) string {
	switch {
	case !known:
		return ""
	case up:
		return ", its arrow right"
	}
	return ", reversed"
}

// sentence says it in the grammar of --seen: what the power of the channel did,
// where that is plain, else only where the CT sits, as far as the load tells.
func (g *Guide) sentence(k int, sc scene) string {
	watts, known := g.Step.Watts(k)
	volts := g.Step.From[k].volts
	switch {
	case !known || volts == 0 || math.Abs(watts) < plainly*volts*g.Step.Amps(k):
		if sc.service.Kind == wiring.Delta {
			return ""
		}
		return fmt.Sprintf("ct %d on leg %d", k+1, g.Leg)
	case watts > 0:
		return fmt.Sprintf("leg %d on: channel %d up", g.Leg, k+1)
	}
	return fmt.Sprintf("leg %d on: channel %d down", g.Leg, k+1)
}

// two channels take a load between two legs, or two CTs sit on one leg: then
// both currents are the same one, up to their CTs' sides.
func (g *Guide) two(sc scene) {
	a, b := g.Step.Channels[0], g.Step.Channels[1]
	unclear := fmt.Sprintf("Channels %d and %d took a load: one between two legs, or two at once", a+1, b+1)
	za, okA := g.absolute(a, sc)
	zb, okB := g.absolute(b, sc)
	if !okA || !okB || cmplx.Abs(za-zb) > 0.15*cmplx.Abs(za) {
		g.unclear(unclear)
		return // of two reversed apart: not told from a load between two legs
	}
	g.Outcome = Elsewhere
	g.Says = fmt.Sprintf("Channels %d and %d took it alike: both CTs sit on leg %d", a+1, b+1, g.Leg)
	g.Seen = []string{fmt.Sprintf("ct %d on leg %d", a+1, g.Leg), fmt.Sprintf("ct %d on leg %d", b+1, g.Leg)}
}

// absolute is the change on a channel as seen from the voltage of channel 1.
func (g *Guide) absolute(k int, sc scene) (complex128, bool) {
	theta, ok := g.Step.theta(k)
	if !ok || !sc.known {
		return 0, false
	}
	return cmplx.Rect(g.Step.Amps(k), (sc.volts[k]-theta)*math.Pi/180), true
}

// plainly is how far from 90 degrees a step's angle must be, as a cosine, for
// its direction to be told.
const plainly = 0.2

// polarity tells whether the CT of channel k has its arrow right, given that
// it sits on the guide's leg: the load's own angle is then within 90 degrees.
func (g *Guide) polarity(k int, sc scene) (up, known bool) {
	theta, ok := g.Step.theta(k)
	if k == sc.home(g.Leg) {
		if !ok {
			watts, known := g.Step.Watts(k)
			return watts > 0, known && g.Step.From[k].volts > 0 && math.Abs(watts) > plainly*g.Step.From[k].volts*g.Step.Amps(k)
		}
		c := math.Cos(theta * math.Pi / 180)
		return c > 0, math.Abs(c) > plainly
	}
	if !ok || !sc.known {
		return false, false
	}
	phi := sc.volts[g.Leg-1] - (sc.volts[k] - theta)
	c := math.Cos(phi * math.Pi / 180)
	return c > 0, math.Abs(c) > plainly
}
