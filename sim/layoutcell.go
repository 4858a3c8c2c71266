package sim

import (
	"math"
	"time"

	"legwork/probe/reading"
	"legwork/probe/regmap"
)

// form is how a number is written into registers.
type form struct {
	kind  regmap.Type
	order regmap.Order
	step  float64 // what one count is worth, in SI
}

func (f form) registers() int {
	switch f.kind {
	case regmap.U16, regmap.S16:
		return 1
	case regmap.U64, regmap.S64, regmap.F64:
		return 4
	}
	return 2
}

// words writes x; beyond the range stands the largest or the smallest value.
// It shares no code with package regmap, whose inverse it is.
func (f form) words(x float64) []uint16 {
	x /= f.step
	n := f.registers()
	var bits uint64
	switch f.kind {
	case regmap.F32:
		bits = uint64(math.Float32bits(float32(x)))
	case regmap.F64:
		bits = math.Float64bits(x)
	case regmap.U16, regmap.U32, regmap.U64:
		bits = uint64(min(max(math.Round(x), 0), math.Ldexp(1, min(16*n, 53))-1))
	default:
		most := math.Ldexp(1, min(16*n-1, 53))
		bits = uint64(int64(min(max(math.Round(x), -most), most-1)))
	}
	bytes := make([]byte, 2*n)
	for i := range bytes {
		bytes[i] = byte(bits >> (8 * (2*n - 1 - i)))
	}
	words := make([]uint16, n)
	for i := range words {
		high, low := bytes[2*i], bytes[2*i+1]
		if n > 1 && (f.order == regmap.BADC || f.order == regmap.DCBA) {
			high, low = low, high
		}
		at := i
		if f.order == regmap.CDAB || f.order == regmap.DCBA {
			at = n - 1 - i
		}
		words[at] = uint16(high)<<8 | uint16(low)
	}
	return words
}

// scene is all that the registers of a layout speak of, at one instant.
type scene struct {
	reading  reading.Reading
	at       time.Time
	seconds  float64 // since the layout began
	joules   [3]float64
	returned [3]float64
	demand   [3]float64 // W, a mean over minutes
	ripple   func() float64
}

// cell is one value of a layout and where it stands. point is zero for what a
// map has no name for, or for a second copy.
type cell struct {
	form
	point reading.Point
	name  string // of what a map has no name for
	at    int    // in its block
	value func(*scene) float64
}

// ofPoint gives a point of the reading; a value that isn't known reads as zero.
func ofPoint(p reading.Point) func(*scene) float64 {
	return func(s *scene) float64 { return s.reading.Number(p).Or(0) }
}

func ofChannel(q reading.Quantity, k int) func(*scene) float64 {
	return ofPoint(reading.Point{Quantity: q, Index: k})
}

// summed is the sum over the channels; mean is over those that the place has.
func summed(q reading.Quantity) func(*scene) float64 {
	return func(s *scene) float64 {
		sum := 0.
		for k := range s.reading.Channels {
			sum += ofChannel(q, k+1)(s)
		}
		return sum
	}
}

func mean(q reading.Quantity) func(*scene) float64 {
	return func(s *scene) float64 { return summed(q)(s) / float64(len(s.reading.Channels)) }
}

func constant(x float64) func(*scene) float64 { return func(*scene) float64 { return x } }
