package learn

import (
	"math"
	"slices"

	"legwork/probe/learn/image"
	"legwork/probe/regmap"
)

// series is one reading of one place, over all rounds.
type series struct {
	form
	block *image.Block
	at    int       // wire address
	x     []float64 // a value each round
	step  float64   // by which it can change at least; 0 for as fine as a float is
	low   float64
	high  float64
	mid   float64 // middle one of the rounds
	same  bool    // high half extends the sign of the low one, in every round
}

func (s *series) moves() bool { return s.high > s.low }

// most is the largest size of a value.
func (s *series) most() float64 { return math.Max(math.Abs(s.low), math.Abs(s.high)) }

// zero reports a value that is nothing in every round.
func (s *series) zero() bool { return s.low == 0 && s.high == 0 }

// repeats reports that another moves and is the same number in every round.
func (s *series) repeats(other *series) bool { return s.moves() && slices.Equal(s.x, other.x) }

// belowZero reports a short integer without a sign that stays so near to its largest that
// it is rather a small one below zero, but for one beside which zero stands, as a high half.
func (s *series) belowZero() bool {
	return s.typ == regmap.U16 && s.low > math.MaxUint16-2000 && !s.besideZero(-1) && !s.besideZero(1)
}

// besideZero reports that the register so far away shows nothing.
func (s *series) besideZero(by int) bool {
	at := s.at - s.block.At + by
	return !slices.ContainsFunc(s.block.Rounds, func(words []uint16) bool {
		return at < 0 || at >= len(words) || words[at] != 0
	})
}

// coarse is half a step over the size of x, as a ratio.
func (s *series) coarse(x float64) float64 {
	x = math.Abs(x)
	if s.step == 0 || x == 0 {
		return 1e-6
	}
	return math.Min(1, s.step/2/x)
}

// readAs reads the place in a form; nil where it can't be meant so.
func readAs(b *image.Block, offset int, f form) *series {
	s := &series{form: f, block: b, at: b.At + offset, step: 1, same: f.typ == regmap.S32}
	s.x = make([]float64, len(b.Rounds))
	for r, words := range b.Rounds {
		x, same := f.value(words[offset : offset+f.size()])
		s.x[r] = x
		s.same = s.same && same
		if r == 0 || x < s.low {
			s.low = x
		}
		if r == 0 || x > s.high {
			s.high = x
		}
	}
	s.mid = median(s.x)
	if f.float() {
		if !s.sensible() {
			return nil
		}
		s.step = decimals(s.x)
	}
	if f.size() == 1 && !f.signed() && s.low == 0xFFFF {
		return nil // all ones: nothing is there
	}
	if (f.typ == regmap.S16 || f.typ == swappedS16) && s.low >= 0 {
		return nil // reads as the unsigned one does
	}
	return s
}

// possible reports that a low half with bytes exchanged has a high half beside
// it, and that the halves of a 32-bit integer may belong together.
func (s *series) possible(offset int) bool {
	switch s.typ {
	case swappedU16, swappedS16:
		return s.extended(offset-1) || s.extended(offset+1)
	case regmap.S32:
		return s.halves() > -9
	}
	return true
}

// nearLimit is a short value that may be a long one just beyond the short ones.
const nearLimit = 30000

// extended reports that the word at an offset extends the sign in every round.
func (s *series) extended(offset int) bool {
	for r, words := range s.block.Rounds {
		if offset < 0 || offset >= len(words) {
			return false
		}
		if w := words[offset]; w != 0 && (w != 0xFFFF || s.x[r] >= 0 && s.x[r] < nearLimit) {
			return false
		}
	}
	return true
}

// halves weighs that the halves of a 32-bit integer belong together: where the
// high one changes, the low one is anywhere.
func (s *series) halves() float64 {
	changed := 0
	low, high := 65536., 0.
	for r, x := range s.x {
		top := math.Floor(x / 65536)
		half := x - 65536*top
		low, high = math.Min(low, half), math.Max(high, half)
		if r > 0 && top != math.Floor(s.x[r-1]/65536) {
			changed++
		}
	}
	return float64(changed) * math.Log(math.Min(1, math.Max(0.01, (high-low)/65536*1.5)))
}

// wild reports a series that is somewhere else in most rounds, as low halves are.
func (s *series) wild() bool {
	jumps := 0
	for r := 1; r < len(s.x); r++ {
		if math.Abs(s.x[r]-s.x[r-1]) > 0.4*s.most() {
			jumps++
		}
	}
	return jumps > 1 && 2*jumps >= len(s.x)
}

// sensible reports floats that a meter could give; bits of anything else mostly
// make numbers that are out of all proportion.
func (s *series) sensible() bool {
	for _, x := range s.x {
		size := math.Abs(x)
		if !(size == 0 || size > 1e-7 && size < 1e12) {
			return false
		}
	}
	return true
}

// small reports bits that are rather an integer with its bytes exchanged, of
// which the high half is below 256, or above -257.
func (s *series) small() bool {
	low := func(x float64) uint32 { return math.Float32bits(float32(x)) >> 16 & 0xFF }
	first := low(s.x[0])
	return (first == 0 || first == 0xFF) && !slices.ContainsFunc(s.x, func(x float64) bool { return low(x) != first })
}

// decimals is the step to which floats are rounded, 0 for none.
func decimals(xs []float64) float64 {
	for _, step := range [...]float64{1, 0.1, 0.01, 0.001, 0.0001} {
		whole := true
		for _, x := range xs {
			n := x / step
			whole = whole && math.Abs(n) < 4e5 && math.Abs(n-math.Round(n)) < 1e-7*math.Abs(n)+1e-9
		}
		if whole {
			return step
		}
	}
	return 0
}
