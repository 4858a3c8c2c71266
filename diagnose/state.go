package diagnose

import (
	"math"
	"math/cmplx"

	"legwork/diagnose/internal/evidence"
	"legwork/diagnose/internal/infer"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// state is what channel k shows under the likeliest explanation; unclear where
// neither it nor the channel's own place is likely enough.
func (j *judgement) state(k int) State {
	s := &j.Base().Observed[k]
	b, g := j.Leads()
	switch {
	case j.mixture.shows != "", b != nil && b.Cause == CauseMap, g != nil && j.CauseOf(g) == CauseService:
		return StateUnclear
	case j.OpenNeutral() >= 1-j.Decide:
		return StateUnclear // its voltage may not be its leg's
	case b != nil && b.Ratio != nil && b.Ratio.Balance && b.Ratio.Channel == k+1:
		return StateUnclear
	case b != nil:
		g = j.Top()
	}
	if g != nil && g.State[k] == InputDead {
		if j.voltage(k, g) > noVoltage {
			return StateUnclear // it is dead in another world, or was before
		}
		return StateNoVoltage
	}
	if s.AmpsKnown && !s.Loaded && s.Amps < j.MinCurrent {
		return StateUnloaded
	}
	if g == nil || !g.Judged[k] || j.PlaceShare(k) < j.Decide {
		return StateUnclear
	}
	c := g.Lead()[k]
	crossed := c.Leg != g.Service.HomeLeg(wiring.Channel(k+1))
	switch {
	case crossed && c.Reversed:
		return StateReversedCrossed
	case crossed:
		return StateCrossed
	case c.Reversed:
		return StateReversed
	case j.unsteadyInput(k):
		return StateUnclear
	case g.Severe[k] || g.State[k] == InputShared || j.voltageOff(k, g):
		return StateUnclear // its CT is where it belongs, and its voltage isn't what it should be
	case j.Reading.Channels[k].Power.Or(0) < 0 && !j.DeclaredWell(j.CauseOf(g)):
		return StateUnclear // power that flows back, which nobody has spoken of
	}
	return StateAgrees
}

// Bounds of a channel's own voltage over what its input should read, for its state: the
// same as for a severe input, and for a dead one with room for what is induced.
const (
	noVoltage   = 0.15
	leastOfHome = 0.8
	mostOfHome  = 1.2
)

// voltage is that of a channel over what its input should read when it is wired right; 1
// where it isn't known.
func (j *judgement) voltage(k int, g *infer.Group) float64 {
	return j.Reading.Channels[k].Voltage.Map(func(v float64) float64 { return j.of(v, k, g) }).Or(1)
}

// of is a voltage over the same; 1 where the service has none there.
func (j *judgement) of(volts float64, k int, g *infer.Group) float64 {
	q, _ := g.Sequence()
	home := cmplx.Abs(g.Service.InputPhasors(q)[k]) * g.Service.Nominal
	if home <= 0 {
		return 1
	}
	return math.Abs(volts) / home
}

// voltageOff reports a channel whose voltage isn't its leg's: by itself, or since the
// neutral that all inputs share is exchanged with a leg.
func (j *judgement) voltageOff(k int, g *infer.Group) bool {
	for i := range g.Service.Channels() {
		if g.State[i] == InputNeutralCrossed {
			return true
		}
	}
	v := j.voltage(k, g)
	return v < leastOfHome || v > mostOfHome
}

// channel is what one shows.
func (j *judgement) channel(k int) ChannelJudged {
	c := j.Reading.Channels[k]
	out := ChannelJudged{Channel: k + 1, State: j.state(k), Voltage: c.Voltage, Current: c.Current,
		Power: c.Power, Reactive: c.Reactive, VoltageAngle: c.VoltageAngle}
	if s := &j.Base().Now[k]; s.N == 1 {
		out.Angle = reading.Known(reading.Angle(s.Candidates[0].Theta))
	} else if a, ok := evidence.MeasuredAngle(c); ok {
		out.Angle = reading.Known(a)
	}
	return out
}

// placed says where the CTs of an arrangement sit.
func placed(a wiring.Arrangement, s wiring.Service) []CTPlaced {
	all := make([]CTPlaced, s.Channels())
	leg, reversed := new([3]int), new([3]bool)
	for k := range all {
		all[k].Channel = k + 1
		switch c := a[k]; c.Leg {
		case wiring.NoLeg:
		case wiring.OnNeutral:
			reversed[k] = c.Reversed
			all[k].On, all[k].Reversed = "neutral", &reversed[k]
		default:
			leg[k], reversed[k] = int(c.Leg), c.Reversed
			all[k].Leg, all[k].Reversed = &leg[k], &reversed[k]
		}
	}
	return all
}
