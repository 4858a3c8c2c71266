package learn

import (
	"math"
	"slices"

	"legwork/probe/learn/image"
)

// What registers look like, and how likely a cell of a kind holds that.

// wordLook is what a register looks like over the rounds.
type wordLook struct {
	x       []uint16
	still   bool
	nothing bool // zero in every round, or another number that stands for nothing
	blank   bool // as gaps of the block are
}

type wordLooks []wordLook

// nothings are what registers hold that have no use.
var nothings = []uint16{0, 0xFFFF, 0x8000}

// blank is the one of them that a block has most often.
func (w wordLooks) blank() uint16 {
	counts := map[uint16]int{}
	for i := range w {
		if w[i].nothing {
			counts[w[i].x[0]]++
		}
	}
	return slices.MaxFunc(nothings, func(a, b uint16) int { return counts[a] - counts[b] })
}

// wordsOf looks at all registers of a block.
func wordsOf(b *image.Block) wordLooks {
	out := make(wordLooks, len(b.Rounds[0]))
	for i := range out {
		w := &out[i]
		w.still = true
		for _, words := range b.Rounds {
			w.x = append(w.x, words[i])
			w.still = w.still && words[i] == w.x[0]
		}
		w.nothing = w.still && slices.Contains(nothings, w.x[0])
	}
	blank := out.blank()
	for i := range out {
		out[i].blank = out[i].nothing && out[i].x[0] == blank
	}
	return out
}

// logCell is the logarithm of how likely the registers of a cell are. first says
// where long ones rather have the high half.
func (w wordLooks) logCell(at int, k cellKind, first bool) float64 {
	one := &w[at]
	value := logValue
	if one.nothing {
		value = logNothing
	}
	switch {
	case k == shortCell:
		return value
	case k == gapCell:
		return one.logGap()
	case k == spacedCell:
		return value + math.Log(0.72) + w[at+1].logGap() // as likely as a long one
	}
	high, low := one, &w[at+1]
	highFirst := k == highFirstCell || k == spacedHighFirstCell
	if !highFirst {
		high, low = low, high
	}
	log := logHalves(high, low)
	if k.size() == 4 {
		log += w[at+2].logGap() + w[at+3].logGap()
	}
	if highFirst != first {
		return log + math.Log(0.07)
	}
	return log + math.Log(0.93)
}

// logGap is the logarithm of how likely a gap holds what a register does.
func (w *wordLook) logGap() float64 {
	switch {
	case !w.nothing:
		return math.Inf(-1)
	case !w.blank:
		return logBlank
	}
	return 0
}

// logHalves is that of the halves of a long value. Our choice, no source.
func logHalves(high, low *wordLook) float64 {
	sign := true
	for r, x := range high.x {
		sign = sign && (x == 0 || x == 0xFFFF && low.x[r]&0x8080 != 0) // whichever byte is first
	}
	switch {
	case sign && low.nothing:
		return math.Log(0.12)
	case sign:
		return math.Log(0.68)
	case high.still && !low.still && slices.IsSorted(low.x):
		return math.Log(0.13) // a counter
	case high.still && !low.still:
		return math.Log(0.05)
	case high.still:
		return math.Log(0.02)
	case low.still:
		return math.Log(0.0001)
	}
	return math.Log(0.01)
}
