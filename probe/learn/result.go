package learn

import (
	"legwork/probe/reading"
	"legwork/probe/regmap"
	"math"
)

// Found is where a quantity stands, as far as it was found out.
type Found struct {
	regmap.Point
	Reads       float64 // in SI, in the last round
	Ties        []Tie
	Probability float64
}

// Ask is the measurement that would settle most.
type Ask struct {
	Point reading.Point
	Or    []float64 // what the likeliest explanations expect of it, in SI
}

// Result is what was understood of an image.
type Result struct {
	Meter    string // for the file; the caller's
	Unit     int    // likewise
	Channels int    // that are present; 0 where nothing was found
	Points   []Found
	Open     []Found // the likeliest reading of what isn't settled
	Settled  bool    // voltage, current and power of every channel
	Placed   bool    // where they are is sure, if not what a count is worth
	Ask      *Ask    // nil where nothing would settle more
}

// shown ties a point to what an instrument shows of it.
func shown(all []Measured, p Found) []Tie {
	var out []Tie
	for _, m := range all {
		if m.Point == p.Point.Point && m.Value != 0 {
			off := math.Abs(math.Abs(p.Reads)/m.Value - 1)
			out = append(out, Tie{Shown, []reading.Point{m.Point}, off, m.Value})
		}
	}
	return out
}
