package trace

import (
	"math"
	"time"
)

// What a load that comes back may differ by from what went off: heating settles,
// motors draw otherwise when cold. Our choice.
const (
	matchShare = 0.08
	matchWatts = 40.0
)

// alike reports two changes of one load, the one the other turned over.
func alike(off, on vector) bool {
	most := off.size()
	for k := range off {
		if math.Abs(off[k]+on[k]) > matchShare*most+matchWatts {
			return false
		}
	}
	return true
}

// same reports two changes of one size and direction.
func same(a, b vector) bool {
	for k := range b {
		b[k] = -b[k]
	}
	return alike(a, b)
}

// habit is a load of a meter that comes and goes by itself: how often one of its
// size was seen to go off and come back, less what was a person's doing.
type habit struct {
	power  vector
	times  float64
	logOff float64 // mean of the logarithm of the seconds that it was off
}

// history is what one meter did so far.
type history struct {
	level  level
	open   []step // what went off and isn't back
	habits []habit
}

// Bounds of what is kept of a meter.
const (
	mostOpen   = 32
	mostHabits = 64
)

// habit finds or makes the habit that an off step is the like of.
func (h *history) habit(off vector) *habit {
	for i := range h.habits {
		if same(h.habits[i].power, off) {
			return &h.habits[i]
		}
	}
	if len(h.habits) == mostHabits {
		h.habits = h.habits[1:]
	}
	h.habits = append(h.habits, habit{power: off})
	return &h.habits[len(h.habits)-1]
}

// Bounds of how long a breaker is off: the shortest is a share of what was asked.
const (
	shortest = 0.2
	longest  = 5 * time.Minute
)

// back finds what a load that came on went off as, the latest first, and takes
// it out. Something else of the meter's own may have come or gone with it.
func (h *history) back(on step, asked float64) (step, bool) {
	for _, exact := range [...]bool{true, false} {
		for i := len(h.open) - 1; i >= 0; i-- {
			off := h.open[i]
			if gone := on.at.Sub(off.at); gone.Seconds() < shortest*asked || gone > longest {
				continue
			}
			if exact && alike(off.power, on.power) || !exact && h.withHabit(off.power, on.power) {
				h.open = append(h.open[:i], h.open[i+1:]...)
				return off, true
			}
		}
	}
	return step{}, false
}

// withHabit reports that a load came back together with one that comes and goes
// by itself, or as one of those went.
func (h *history) withHabit(off, on vector) bool {
	for _, b := range h.habits {
		if b.times < 1 {
			continue
		}
		with, without := on, on
		for k := range on {
			with[k] += b.power[k]
			without[k] -= b.power[k]
		}
		if alike(off, with) || alike(off, without) {
			return true
		}
	}
	return false
}

// keep notes an off step.
func (h *history) keep(off step) {
	if len(h.open) == mostOpen {
		h.open = h.open[1:]
	}
	h.open = append(h.open, off)
}
