package clamp

import (
	"fmt"
	"math"

	"legwork/probe/reading"
)

// Bounds, as shares of what the clamp reads, for a current to be a leg's own and
// for another channel's to be plainly not. Common practice for what clamp and CT
// make together, no source.
const (
	ownWithin  = 0.08
	otherApart = 0.16
)

// Pairings says, as the diagnosis takes it, which CTs the clamp showed to sit on
// their legs: where the channel of a leg reads what the clamp reads, and no other
// channel comes near. A clamp's current speaks of its own moment only; this
// holds until something is moved. Of legs whose currents are alike it says nothing.
func Pairings(r Result, samples []reading.Reading) []string {
	all := []string{}
	for _, c := range r.Channels {
		if c.Quantity == reading.Current.String() && c.State == Right && c.alone(samples) {
			all = append(all, fmt.Sprintf("ct %d on leg %d", c.Channel, c.Leg))
		}
	}
	return all
}

// alone reports that of all channels only its own reads what the clamp reads.
func (c Compared) alone(samples []reading.Reading) bool {
	for _, r := range samples {
		for k := range r.Channels {
			amps, ok := r.Channels[k].Current.Get()
			off := math.Abs(amps/c.Instrument - 1)
			switch own := k+1 == c.Channel; {
			case !ok && !own:
				return false // it may read anything
			case own && off > ownWithin, !own && off < otherApart:
				return false
			}
		}
	}
	return len(samples) > 0
}
