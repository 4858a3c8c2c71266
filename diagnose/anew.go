package diagnose

import (
	"fmt"
	"time"

	"legwork/diagnose/internal/evidence"
	"legwork/probe/reading"
)

// What was read of another meter, or under another ratio, is no evidence of this one.

// identity is what a reading says of the meter itself; empty or unknown where it doesn't.
type identity struct {
	serial  string
	primary reading.Value // A
}

// renew takes what a reading says of the meter. Where that has changed all evidence is let go.
func (c *Case) renew(r *reading.Reading) {
	was := &c.identity
	set, known := r.CTPrimary.Get()
	before, knew := was.primary.Get()
	switch {
	case r.Serial != "" && was.serial != "" && r.Serial != was.serial:
		c.forget(fmt.Sprintf("The serial number went from %s to %s", was.serial, r.Serial), r.At)
	case known && knew && set != before:
		c.forget(fmt.Sprintf("The CT primary that is set in the meter went from %g A to %g A", before, set), r.At)
	}
	if r.Serial != "" {
		was.serial = r.Serial
	}
	if known {
		was.primary = r.CTPrimary
	}
}

func (c *Case) forget(why string, at time.Time) {
	c.anew = why
	if !at.IsZero() {
		c.anew += " at " + at.Format(time.TimeOnly)
	}
	c.anew += ": only what was read since counts"
	c.history, c.signed, c.last = evidence.NewHistory(c.options.MostStates), false, reading.Reading{}
	c.screen, c.contact, c.pace, c.counts = evidence.Screen{}, evidence.Contact{}, evidence.Pace{}, evidence.Counters{}
}
