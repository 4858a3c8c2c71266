package evidence

import (
	"math"

	"legwork/probe/reading"
)

// What the values themselves say for one mend rather than another, beside the ties.

// Volts are what the inputs read by the service; 0 where it isn't known.
type Volts [reading.MaxChannels]float64

// What a voltage out of its place has for a cause, where the others are in theirs: a tap or a
// neutral, else, once in restoredNats, the map. Our choice.
const (
	inPlace      = 0.08 // of the logarithm, about the service's own
	restoredNats = 6.0
)

// restores is what speaks for a mend of the one voltage that is out of its place, and against
// one that takes it out.
func (m Mend) restores(r *reading.Reading, home *Volts) float64 {
	if m.Change != Rescale || m.Quantity != reading.Voltage || m.Channel == 0 {
		return 0
	}
	var was, is int // out of place
	for k := range r.Channels {
		v, ok := r.Channels[k].Voltage.Get()
		if !ok || v <= 0 || home[k] <= 0 {
			return 0
		}
		was += out(v, home[k])
		if k == m.Channel-1 {
			v *= m.Factor
		}
		is += out(v, home[k])
	}
	switch {
	case is > was:
		return -restoredNats
	case is == 0:
		return restoredNats
	}
	return 0
}

// blankNats is what zeros alone say for a mend that takes the registers for others: what
// isn't used holds them, and what is used hardly (common practice, no source).
const blankNats = 3.0

// blanks is blankNats where all that a mend would read elsewhere is zero.
func (m Mend) blanks(r *reading.Reading) float64 {
	if m.Change != Readdress {
		return 0
	}
	n := 0
	for k := range r.Channels {
		if m.Channel != 0 && m.Channel != k+1 {
			continue
		}
		for _, x := range m.values(&r.Channels[k]) {
			if *x != reading.Known(0.0) {
				return 0
			}
			n++
		}
	}
	if n == 0 {
		return 0
	}
	return blankNats
}

// out is one for a voltage that isn't in its place.
func out(v, home float64) int {
	if math.Abs(math.Log(v/home)) > inPlace {
		return 1
	}
	return 0
}
