package diagnose

import (
	"fmt"

	"legwork/diagnose/internal/advice"
)

// lacking lists the channels that carry enough current and have no voltage, or no power,
// among what is read: no load settles anything for them. Their numbers and the points, as
// maps and captures name them.
func (j *judgement) lacking() (channels, points []string) {
	for k := range min(j.Service.Channels(), len(j.Reading.Channels)) {
		c := &j.Reading.Channels[k]
		o := &j.Base().Now[k]
		if o.Amps < j.MinCurrent {
			continue
		}
		point := ""
		switch {
		case !c.Voltage.Known():
			point = "voltage"
		case o.N == 0 && !c.Power.Known():
			point = "power"
		default:
			continue
		}
		channels, points = append(channels, fmt.Sprint(k+1)), append(points, fmt.Sprintf("%s.%d", point, k+1))
	}
	return channels, points
}

// lackWords says what isn't read; empty where nothing is lacking.
func (j *judgement) lackWords() string {
	channels, points := j.lacking()
	if len(channels) == 0 {
		return ""
	}
	return fmt.Sprintf("%s can't be judged: the readings lack %s", advice.Plural("channel", channels), advice.Listed(points))
}

// lackQuestion asks for it.
func (j *judgement) lackQuestion() (NextTest, bool) {
	channels, points := j.lacking()
	if len(channels) == 0 {
		return NextTest{}, false
	}
	return NextTest{Test: "points", GainBits: float64(len(channels)), Ask: fmt.Sprintf("See that the map, or the capture, has %s, and read again",
		advice.Listed(points))}, true
}
