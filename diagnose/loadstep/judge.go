package loadstep

import (
	"fmt"
	"math"
	"math/cmplx"

	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// take judges a step, and reports one that may be the load that is waited for. What
// can't be doesn't end the waiting: on a panel at work others come and go.
func (l *Led) take(s Step, r reading.Reading) bool {
	switch {
	case s.Jumped():
		l.Note = s.String() + ", which no load does"
		return false
	case !s.On():
		l.Note = "A load went off, which isn't it: " + s.sizes()
		return false
	}
	l.Step, l.taken, l.Findings, l.IfCertain = s, false, nil, nil
	l.found = Waiting
	switch len(s.Changes) {
	case 1:
		l.one(&s.Changes[0], inputsOf(l.service, r))
	case 2:
		l.two(inputsOf(l.service, r))
	default:
		l.unclear("Every channel took a load: one on all legs, or several at once")
	}
	return l.found != Waiting
}

func (l *Led) unclear(says string) {
	l.taken, l.Says, l.Note = true, says, says+", which isn't it"
}

// one is the plain case: one channel took the load.
func (l *Led) one(c *Change, in inputs) {
	up, known := l.polarity(c, in)
	l.Findings = l.findings(c)
	other := l.otherLeg(c, in)
	l.Says = fmt.Sprintf("Channel %d took it: %s", c.Channel, c)
	switch {
	case other != "":
		l.found, l.IfCertain, l.Findings = Unclear, l.Findings, nil
		l.Says += other
	case c.Channel != l.home():
		l.found = Elsewhere
		l.Says += fmt.Sprintf(". CT %d sits on leg %d%s%s", c.Channel, l.Leg, l.orReturn(), reversedWords(up, known))
	case known && !up:
		l.found = Elsewhere
		l.Says += fmt.Sprintf(". CT %d sits on its leg, reversed", c.Channel)
	default:
		l.found = AsExpected
		l.Says += ", as it should"
		if l.service.Kind == wiring.Delta {
			l.Says += "; a CT on leg 2 would take it too"
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

// orReturn names the other leg of the load on a three-wire delta, where a load on one
// leg alone can't be.
func (l *Led) orReturn() string {
	if l.service.Kind == wiring.Delta {
		return " or on leg 2, which carries the same load"
	}
	return ""
}

// findings are what the power of the channel did, where that is plain, else only
// where the CT sits, as far as the load tells.
func (l *Led) findings(c *Change) []wiring.Finding {
	up, known := c.powerRose()
	f := wiring.Finding{Test: wiring.LoadStep, Leg: l.Leg, Channel: c.Channel, Outcome: wiring.PowerDown}
	switch {
	case known && up:
		f.Outcome = wiring.PowerUp
	case !known && l.service.Kind == wiring.Delta:
		return nil
	case !known:
		f.Test, f.Outcome = wiring.Trace, wiring.OnLeg
	}
	return []wiring.Finding{f}
}

// oneConductor is how far two changes may lie apart, as a share, that are one current.
// Our choice, no source: the errors of two CTs, and noise.
const oneConductor = 0.15

// two channels take a load between two legs, or two CTs sit on one leg: then both
// currents are the same one, up to their CTs' sides.
func (l *Led) two(in inputs) {
	a, b := &l.Step.Changes[0], &l.Step.Changes[1]
	za, okA := in.absolute(a)
	zb, okB := in.absolute(b)
	if !okA || !okB || cmplx.Abs(za-zb) > oneConductor*cmplx.Abs(za) {
		// of two reversed apart: not told from a load between two legs
		l.unclear(fmt.Sprintf("Channels %d and %d took a load: one between two legs, or two at once", a.Channel, b.Channel))
		return
	}
	l.found = Elsewhere
	l.Says = fmt.Sprintf("Channels %d and %d took it alike: both CTs sit on leg %d", a.Channel, b.Channel, l.Leg)
	for _, c := range l.Step.Changes {
		l.Findings = append(l.Findings, wiring.Finding{Test: wiring.Trace, Channel: c.Channel, Leg: l.Leg, Outcome: wiring.OnLeg})
	}
}

// polarity says whether the CT of a channel has its arrow right, given that it sits
// on the leg: the load's own angle behind that leg's voltage is then within 90 degrees.
// It is phi = arg V_leg - (arg V_k - theta).
func (l *Led) polarity(c *Change, in inputs) (up, known bool) {
	theta, ok := c.Angle.Get()
	switch own := c.Channel == l.home(); {
	case own && !ok:
		return c.powerRose()
	case own:
		return c.along(c.Amps * theta.Cos())
	case !ok || !in.known:
		return false, false
	}
	phi := reading.Degrees(in.at[l.Leg-1] - in.at[c.Channel-1] + float64(theta))
	return c.along(c.Amps * phi.Cos())
}

// inputs are the angles of the voltage inputs, in degrees.
type inputs struct {
	at    [reading.MaxChannels]float64
	known bool
}

// inputsOf takes them from a reading; input 1 is at 0 where it isn't known.
func inputsOf(s wiring.Service, r reading.Reading) inputs {
	in := inputs{known: s.Kind != 0 && len(r.Channels) >= s.Channels()}
	for k := range min(s.Channels(), len(r.Channels)) {
		a, ok := r.Channels[k].VoltageAngle.Get()
		in.at[k] = float64(a)
		in.known = in.known && (ok || k == 0)
	}
	switch s.Kind {
	case wiring.SplitPhase: // two legs at 180 degrees, whatever the meter says
		in = inputs{at: [3]float64{0, 180, 0}, known: true}
	case wiring.Delta, wiring.HighLegDelta:
		in.known = false // a channel's voltage isn't that of a leg alone
	}
	return in
}

// absolute is the change on a channel as seen from the voltage of input 1, A.
func (in inputs) absolute(c *Change) (z complex128, known bool) {
	theta, ok := c.Angle.Get()
	return cmplx.Rect(c.Amps, (in.at[c.Channel-1]-float64(theta))*math.Pi/180), ok && in.known
}
