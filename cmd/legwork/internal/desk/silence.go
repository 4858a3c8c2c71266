package desk

import (
	"fmt"
	"strings"
	"time"

	"legwork/probe/reading"
)

// A channel that carried load for hours and reads none is news: an open CT, a
// lead come off, or a load that is off for once. Our choice.
const (
	carried    = 2 * time.Hour
	carrying   = 0.5  // A
	fallen     = 0.02 // share of the least current of those hours
	confirming = 2    // readings in a row
)

// silence follows which channels fell silent.
type silence struct {
	channels [reading.MaxChannels]channelSilence
}

type channelSilence struct {
	since time.Time // it has carried load from then on
	least float64   // A, the least in that time
	quiet int       // readings below
	fell  time.Time // when it fell silent; zero while it hasn't
}

// add takes a reading, and reports whether a channel has just fallen silent, or
// carries again. One that falls with all others was switched off.
func (s *silence) add(r *reading.Reading) bool {
	news, others := false, 0
	for k := range min(len(r.Channels), len(s.channels)) {
		if r.Channels[k].Current.Or(0) >= carrying {
			others++
		}
	}
	for k := range min(len(r.Channels), len(s.channels)) {
		amps, known := r.Channels[k].Current.Get()
		if known && s.channels[k].add(amps, others > 0, r.At) {
			news = true
		}
	}
	return news
}

func (c *channelSilence) add(amps float64, others bool, at time.Time) bool {
	switch {
	case !c.fell.IsZero():
		if amps < carrying {
			return false
		}
		*c = channelSilence{since: at, least: amps}
		return true
	case c.since.IsZero():
		if amps >= carrying {
			c.since, c.least = at, amps
		}
		return false
	case amps > fallen*c.least:
		c.quiet = 0
		c.least = min(c.least, amps)
		if amps < carrying {
			*c = channelSilence{}
		}
		return false
	case at.Sub(c.since) < carried || !others:
		*c = channelSilence{}
		return false
	}
	if c.quiet++; c.quiet < confirming {
		return false
	}
	c.fell = at
	return true
}

// known reports that a channel has carried load for so long that its silence is
// told; then fell says whether it did.
func (s *silence) known(k int, now time.Time) (fell, known bool) {
	c := &s.channels[k]
	return !c.fell.IsZero(), !c.fell.IsZero() || !c.since.IsZero() && now.Sub(c.since) >= carried
}

// tell puts what fell silent before a summary.
func (s *silence) tell(summary string) string {
	var all []string
	for k := range s.channels {
		if c := &s.channels[k]; !c.fell.IsZero() {
			all = append(all, fmt.Sprintf("channel %d carried load for hours and has read none since %s", k+1,
				c.fell.Format("15:04")))
		}
	}
	if len(all) == 0 {
		return summary
	}
	text := strings.Join(all, "; ")
	return strings.ToUpper(text[:1]) + text[1:] + ". " + summary
}
