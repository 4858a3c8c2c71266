package watch

import (
	"fmt"
	"strings"
	"time"

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

// unclear notes a load that can't be the one that is waited for, and waits on:
// on a panel at work others come and go.
func (g *Guide) unclear(says string) {
	g.Says, g.Note = says, says+", which isn't it"
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
