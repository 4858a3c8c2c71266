package sim

import (
	"math"
	"math/rand/v2"
)

// Cycle is when a load is on: the first part of every so many seconds. The zero
// Cycle is always on.
type Cycle struct {
	Every float64 `sheet:"every" need:"..." from:"1" to:"1e6" doc:"s from one turn to the next."`
	// On is the share of that, 0 to 1; each turn varies by up to a fifth.
	On   float64 `sheet:"on" need:"..." from:"0" to:"1" doc:"Share of it for which the load is on."`
	From float64 `sheet:"from" from:"0" to:"1e6" doc:"s into its cycle at which the load begins."`
}

// isOn reports whether the load is on after so many seconds, given random
// numbers that belong to the load.
func (c Cycle) isOn(seconds float64, d dice) bool {
	if c.Every == 0 {
		return true
	}
	turns := (seconds + c.From) / c.Every
	vary := 1 + 0.2*(2*d.roll(int64(math.Floor(turns)))-1)
	return turns-math.Floor(turns) < c.On*vary
}

// dice are random numbers that can be asked for in any order: what happens at
// an instant doesn't depend on what was asked before.
type dice struct{ seed, stream uint64 }

// roll is between 0 and 1.
func (d dice) roll(n int64) float64 {
	return rand.New(rand.NewPCG(d.seed^uint64(n), d.stream)).Float64()
}

// wander is a slow wave about 1, by as much as by, of some minutes' period.
func (d dice) wander(seconds, by float64) float64 {
	period := 200 + 600*d.roll(-1)
	return 1 + by*math.Sin(2*math.Pi*(seconds/period+d.roll(-2)))
}
