package diagnose

import (
	"legwork/diagnose/internal/evidence"
	"legwork/probe/reading"
)

// Lag is the angle of a channel's current behind its own voltage, where what it reads
// leaves one alone: its angle, that of V and I, or P and Q.
func Lag(c reading.Channel) reading.Maybe[reading.Angle] {
	o := evidence.Limits{}.Observe(c)
	if o.N != 1 {
		return reading.Maybe[reading.Angle]{}
	}
	return reading.Known(reading.Angle(o.Candidates[0].Theta))
}
