package diagnose

import (
	"math"

	"legwork/probe/reading"
)

// mostExplanations is how many are shown; what is less likely than the last is
// in the probabilities' missing rest.
const mostExplanations = 6

// remains is the probability from which on an explanation remains, and is shown.
const remains = 0.005

// expected is what each channel reads at the same load once the wiring is right, where
// all explanations that remain say the same; unknown where they don't. None is given
// where a mend of the map, a setting or the service would change the readings
// themselves, where something is to be kept away from or meters are mixed up, and where all agrees. all still
// has what is hidden because a move could do harm.
func (j *judgement) expected(all []Explanation, now []ChannelJudged) []ChannelAfter {
	if j.Stops() || j.Verdict == Agrees || j.mixture.shows != "" || len(all) == 0 ||
		len(j.Groups) > mostExplanations && j.Groups[mostExplanations].Weight >= remains {
		return []ChannelAfter{}
	}
	var same []ChannelAfter
	for i := range all {
		next := after(&all[i], now, j.Service.Channels())
		switch cause := all[i].Cause; {
		case cause != CauseWiring && cause != CauseGeneration && cause != CauseLoad:
			return []ChannelAfter{}
		case same == nil:
			same = next
		}
		for k := range same {
			same[k] = common(same[k], next[k])
		}
	}
	for _, one := range same {
		if one.Power.Known() || one.Angle.Known() {
			return same
		}
	}
	return []ChannelAfter{}
}

// after is what each channel reads once an explanation's moves are made; as now where
// it moves nothing.
func after(x *Explanation, now []ChannelJudged, channels int) []ChannelAfter {
	all := make([]ChannelAfter, channels)
	for k := range all {
		all[k].Channel = k + 1
		switch {
		case k < len(x.Expect):
			all[k] = x.Expect[k]
		case k < len(now) && len(x.Moves) == 0 && k < len(x.CT) && x.CT[k].Leg != nil:
			all[k].Power, all[k].Angle = now[k].Power, now[k].Angle
		}
	}
	return all
}

// What two expectations may differ by and be the same: as for the candidates of one
// explanation.
const (
	sameWatts = 0.02 // share of the larger
	sameAngle = 3    // degrees
)

// common keeps what two expectations share.
func common(a, b ChannelAfter) ChannelAfter {
	p, ok := a.Power.Get()
	q, ok2 := b.Power.Get()
	if !ok || !ok2 || math.Abs(p-q) > sameWatts*max(math.Abs(p), math.Abs(q)) {
		a.Power = reading.Value{}
	}
	t, ok := a.Angle.Get()
	u, ok2 := b.Angle.Get()
	if !ok || !ok2 || t.Minus(u).Abs() > sameAngle {
		a.Angle = reading.Maybe[reading.Angle]{}
	}
	return a
}

// Changes reports that Expect has a channel that will read otherwise than now.
func (r *Result) Changes() bool {
	for k, e := range r.Expect[:min(len(r.Expect), len(r.Channels))] {
		now := ChannelAfter{Power: r.Channels[k].Power, Angle: r.Channels[k].Angle}
		if same := common(e, now); e.Power.Known() && !same.Power.Known() {
			return true
		}
	}
	return false
}
