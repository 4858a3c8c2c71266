package sim

import "fmt"

// Conductor is what a lead can be landed on or a current transformer hung round.
type Conductor uint8

// The conductors. Nothing is a lead in the air, or a CT round no conductor.
const (
	Nothing Conductor = iota
	LegA
	LegB
	LegC
	Neutral
	conductors // how many there are
)

// String is the conductor's usual name: "leg A", "neutral", "nothing".
func (c Conductor) String() string {
	switch {
	case c.isLeg():
		return "leg " + c.letter()
	case c == Neutral:
		return "neutral"
	case c == Nothing:
		return "nothing"
	}
	return fmt.Sprintf("conductor %d", uint8(c))
}

// letter is the conductor as connections of loads are written.
func (c Conductor) letter() string {
	if c == Neutral {
		return "N"
	}
	return string('A' + rune(c-LegA))
}

// isLeg reports a line conductor.
func (c Conductor) isLeg() bool { return c >= LegA && c <= LegC }

// index is the place of a leg in arrays of three.
func (c Conductor) index() int { return int(c - LegA) }

// leg is the i-th line conductor, from 0.
func leg(i int) Conductor { return LegA + Conductor(i) }

// Sequence is the order in which the legs reach their peaks.
type Sequence int8

// The sequences. The zero value counts as ABC.
const (
	ABC Sequence = +1 // leg B lags leg A
	ACB Sequence = -1
)

// String is ABC or ACB.
func (q Sequence) String() string {
	if q == ACB {
		return "ACB"
	}
	return "ABC"
}
