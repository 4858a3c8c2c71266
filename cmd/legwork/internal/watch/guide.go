package watch

import (
	"fmt"
	"math"
	"math/cmplx"
	"strings"
	"time"

	"legwork/diagnose"
	"legwork/diagnose/wiring"
)

// Outcome is what a led load step showed.
type Outcome uint8

// The outcomes.
const (
	Waiting    Outcome = iota
	AsExpected         // the leg's own channel took it, its power up
	Elsewhere          // another channel, or its own with the power down
	Unclear            // several channels, so that nothing can be said
	NothingSeen
)

// String is the outcome's word in JSON.
func (o Outcome) String() string {
	return [...]string{"waiting", "as-expected", "elsewhere", "unclear", "nothing"}[o]
}

// Guide leads one load step: a load of a known leg comes on, and the channel
// that takes it is the one whose CT sits on that leg.
type Guide struct {
	Leg     int
	Within  time.Duration
	Outcome Outcome
	Says    string   // what was seen
	Seen    []string // the same in the grammar of --seen
	Step    Step     // that it was seen by
	Note    string   // while waiting: what came that wasn't it

	ready time.Time // when the load could come on; zero before there is a level
	load  stepper
}

// Ready reports that the load may come on now.
func (g *Guide) Ready() bool { return !g.ready.IsZero() }

// Left is how long it still waits.
func (g *Guide) Left(now time.Time) time.Duration {
	if !g.Ready() {
		return g.Within
	}
	return max(0, g.ready.Add(g.Within).Sub(now))
}

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

// Ask is what the technician is to do.
func (g *Guide) Ask(service string) string {
	if s, err := wiring.ParseService(service); err == nil && s.Kind == wiring.Delta {
		return fmt.Sprintf("Switch a load of a few amperes between legs %d and 2 on now", g.Leg)
	}
	return fmt.Sprintf("Switch a load of a few amperes on leg %d on now", g.Leg)
}

// add takes a reading: the time to wait starts once there is a level to see a
// step against.
func (g *Guide) add(at time.Time, now levels, sc scene) {
	if g.Outcome != Waiting {
		return
	}
	step, stepped := g.load.add(at, now)
	switch {
	case stepped && g.Ready():
		g.take(step, sc)
	case !g.Ready() && g.load.steady():
		g.ready = at
	}
	g.tick(at)
}

// tick gives up when the time is over.
func (g *Guide) tick(now time.Time) {
	if g.Outcome == Waiting && g.Ready() && !now.Before(g.ready.Add(g.Within)) {
		g.giveUp(fmt.Sprintf("No channel took a load within %s", g.Within))
	}
}

// giveUp ends the waiting: with what several channels took, or with nothing.
func (g *Guide) giveUp(why string) {
	if g.Says != "" {
		g.Outcome = Unclear
		g.Says += ". Take a load from leg to neutral, and try again"
		return
	}
	g.Outcome = NothingSeen
	g.Says = fmt.Sprintf("%s. If it did come on, no CT sits on leg %d", why, g.Leg)
	g.Seen = []string{fmt.Sprintf("leg %d on: nothing", g.Leg)}
}

// take judges a step.
func (g *Guide) take(s Step, sc scene) {
	if !s.On() {
		g.Note = "A load went off, which isn't it: " + strings.TrimPrefix(s.Words(), "Load off: ")
		return
	}
	g.Step, g.Says = s, ""
	switch len(s.Channels) {
	case 1:
		g.one(s.Channels[0], sc)
	case 2:
		g.two(sc)
	default:
		g.unclear("Every channel took a load: one on all legs, or several at once")
	}
}

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

// orReturn names the other leg of the load on a three-wire delta, where a load
// on one leg alone can't be.
func (s scene) orReturn() string {
	if s.service.Kind == wiring.Delta {
		return " or on leg 2, which carries the same load"
	}
	return ""
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

// unclear notes a load that can't be the one that is waited for, and waits on:
// on a panel at work others come and go.
func (g *Guide) unclear(says string) {
	g.Says, g.Note = says, says+", which isn't it"
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

// stop ends the waiting because of a danger.
func (g *Guide) stop(d Danger) {
	if g.Outcome == Waiting {
		g.Outcome, g.Says = Unclear, "Broken off: "+d.Error()
	}
}

// Over ends the waiting: there are no more readings.
func (g *Guide) Over() *Guide {
	if g.Outcome == Waiting {
		g.giveUp("The readings ended and no channel took a load")
	}
	return g
}
