package regmap

import (
	"math"

	"legwork/probe/reading"
)

// Bank holds registers for a simulated meter.
type Bank interface {
	SetWords(t Table, address uint16, words []uint16)
}

// Encode writes a reading into registers: the inverse of Decode, to within half
// a step of each register; what is beyond its range is written as its largest
// or smallest value. An unknown value becomes the point's absent value where it
// has one, NaN in a float, else 0.
func (m *Map) Encode(r *reading.Reading, bank Bank) {
	exponents := m.exponents(r)
	for key, e := range exponents {
		bank.SetWords(key.table, uint16(key.address), []uint16{uint16(int16(e))})
	}
	for i := range m.points {
		p := &m.points[i]
		if p.Quantity.IsText() {
			bank.SetWords(p.Table, uint16(p.Address), textWords(r.Text(p.Point), p.Count))
			continue
		}
		e := 0
		if p.ExponentAt >= 0 {
			e = exponents[exponentKey{p.Table, p.ExponentAt}]
		}
		bank.SetWords(p.Table, uint16(p.Address), wordsOf(p.encode(r, e), p.Count, p.Order))
	}
}

type exponentKey struct {
	table   Table
	address int
}

// exponents chooses, for every exponent register, the smallest power of ten at
// which the largest of the values that share it still fits.
func (m *Map) exponents(r *reading.Reading) map[exponentKey]int {
	chosen := map[exponentKey]int{}
	for i := range m.points {
		p := &m.points[i]
		if p.ExponentAt < 0 {
			continue
		}
		key := exponentKey{p.Table, p.ExponentAt}
		e := -3 // thousandths are finer than any meter of this kind
		if x, ok := r.Number(p.Point).Get(); ok && !p.Type.float() && x != 0 {
			most := math.Ldexp(1, p.Type.bits()-1) - 1
			e = max(e, int(math.Ceil(math.Log10(math.Abs((x/p.Factor-p.Offset)/p.Scale)/most))))
		}
		if old, seen := chosen[key]; !seen || e > old {
			chosen[key] = e
		}
	}
	return chosen
}

func (p *Point) encode(r *reading.Reading, e int) uint64 {
	x, ok := r.Number(p.Point).Get()
	if !ok {
		return p.unknownBits()
	}
	if p.Quantity == reading.PowerFactor && p.PowerFactorSign == reading.SignTellsNothing {
		x = math.Abs(x)
	}
	if p.Negated {
		x = -x
	}
	x = (x/p.Factor - p.Offset) / math.Pow10(e) / p.Scale
	switch p.Type {
	case F32:
		return uint64(math.Float32bits(float32(x)))
	case F64:
		return math.Float64bits(x)
	}
	return integerBits(x, p.Type)
}

func (p *Point) unknownBits() uint64 {
	switch {
	case p.Type == F32:
		return uint64(math.Float32bits(float32(math.NaN())))
	case p.Type == F64:
		return math.Float64bits(math.NaN())
	case len(p.Absent) > 0:
		return uint64(p.Absent[0])
	}
	return 0
}

// integerBits rounds to the nearest integer that the type can hold.
func integerBits(x float64, t Type) uint64 {
	x = math.RoundToEven(x)
	n := t.bits()
	low, high := 0.0, math.Ldexp(1, n)
	if !t.unsigned() {
		low, high = -math.Ldexp(1, n-1), math.Ldexp(1, n-1)
	}
	mask := ^uint64(0) >> (64 - n)
	switch {
	case x >= high && t.unsigned():
		return mask
	case x >= high:
		return mask >> 1
	case x <= low:
		return uint64(int64(low)) & mask
	case x < 0:
		return uint64(int64(x)) & mask
	}
	return uint64(x)
}

func textWords(s string, n int) []uint16 {
	words := make([]uint16, n)
	for i := 0; i < len(s) && i < 2*n; i++ {
		words[i/2] |= uint16(s[i]) << (8 * (1 - i%2))
	}
	return words
}
