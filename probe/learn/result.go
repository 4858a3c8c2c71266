package learn

import (
	"legwork/probe/reading"
	"legwork/probe/regmap"
)

// Point is where a quantity stands, as far as it was found out.
type Point struct {
	regmap.Point
	Reads       float64 // in SI, in the last round
	Ties        []Tie
	Probability float64
	NoSignSeen  bool // of a power that was never negative on any channel: that it has a sign isn't proven
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
	Points   []Point
	Open     []Point // the likeliest reading of what isn't settled
	Doubts   []Doubt // what speaks against the likeliest reading
	Settled  bool    // voltage, current and power of every channel
	Ask      *Ask    // nil where nothing would settle more

	Unfit  []Unfit         // measurements that aren't what was found
	Sole   *Measured       // the one on which the scale of currents and powers rests; nil where there are more
	Rival  []Point         // where the next likeliest explanation has what isn't settled; nil where there is none
	Lacked []reading.Point // what could be measured still, where it isn't settled
}

// Probabilities from which a point goes into the map. Voltages, currents and
// powers carry the verdict on a wiring; the bench of layouts chose theirs.
const (
	sure     = 0.95
	likely   = 0.9
	mostSeen = 0.5 // below, nothing at all is said of the channels
)

// doubtfulPlace is how sure the registers of two channels can be, far apart, one of
// which has no current. Our choice, no source.
const doubtfulPlace = 0.9
