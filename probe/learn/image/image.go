// Package image is the form in which a meter's registers are handed from the
// search that reads them to the learning that makes sense of them.
//
// It holds bare words as they came over the wire, and says nothing of what
// they mean.
package image

import (
	"time"

	"legwork/probe/regmap"
)

// Image is what a meter's registers held when they were read several times over.
type Image struct {
	Times  []time.Time // of every round, mid-way
	Blocks []Block     // in order of table and address, not overlapping
}

// Block is a run of registers without a gap.
type Block struct {
	Table  regmap.Table
	At     int        // wire address of the first register
	Rounds [][]uint16 // one a time, all of one length
}
