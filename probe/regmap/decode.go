package regmap

import (
	"math"
	"strings"
	"unicode"

	"legwork/probe/reading"
)

// Decode fills into with what the blocks hold, in SI units and the signs of
// package reading. A point that no block covers, that is marked absent, or that
// isn't a finite number becomes unknown. into keeps its Channels where there
// are enough of them; At, Service and Skew are left alone.
func (m *Map) Decode(blocks []Block, into *reading.Reading) {
	if n := m.Channels(); len(into.Channels) < n {
		into.Channels = make([]reading.Channel, n)
	}
	for i := range m.points {
		p := &m.points[i]
		words := p.words(blocks)
		if p.Quantity.IsText() {
			into.SetText(p.Point, textOf(words))
			continue
		}
		into.SetNumber(p.Point, p.decode(blocks, words))
		p.mark(into)
	}
}

// mark notes on the channel what the sign of its quantity tells.
func (p *Point) mark(into *reading.Reading) {
	if p.Channel() == 0 {
		return
	}
	c := &into.Channels[p.Channel()-1]
	switch p.Quantity {
	case reading.PowerFactor:
		c.PowerFactorSign = p.PowerFactorSign
	case reading.Reactive:
		c.ReactiveUnsigned = p.unsigned()
	}
}

// find gives n words of a table, or nil where no block has them all.
func find(blocks []Block, t Table, address, n int) []uint16 {
	for i := range blocks {
		if words := blocks[i].at(t, address, n); words != nil {
			return words
		}
	}
	return nil
}

// words are those of a point, or nil where no block has them all. A text may
// come in several blocks; a number may not, since it may change between them.
func (p *Point) words(blocks []Block) []uint16 {
	words := find(blocks, p.Table, p.Address, p.Count)
	if words != nil || !p.Quantity.IsText() {
		return words
	}
	for i := range p.Count {
		one := find(blocks, p.Table, p.Address+i, 1)
		if one == nil {
			return nil
		}
		words = append(words, one[0])
	}
	return words
}

// decode is the value in SI and our sign.
func (p *Point) decode(blocks []Block, words []uint16) reading.Value {
	if words == nil {
		return reading.Value{}
	}
	raw := bitsOf(words, p.Order)
	if p.isAbsent(raw) {
		return reading.Value{}
	}
	x := numberOf(raw, p.Type) * p.Scale
	if p.ExponentAt >= 0 {
		e, ok := exponent(blocks, p)
		if !ok {
			return reading.Value{}
		}
		x *= math.Pow10(e)
	}
	x = (x + p.Offset) * p.Factor
	if p.Negated {
		x = -x
	}
	return reading.Known(x)
}

// mostExponent bounds a power of ten; beyond it the register holds none.
// SunSpec's scale factors run from -10 to 10 (models, json/schema.json).
const mostExponent = 18

func exponent(blocks []Block, p *Point) (int, bool) {
	words := find(blocks, p.Table, p.ExponentAt, 1)
	if words == nil {
		return 0, false
	}
	e := int(int16(words[0]))
	return e, e >= -mostExponent && e <= mostExponent
}

// bitsOf puts the bytes of words into one number, highest first.
func bitsOf(words []uint16, o Order) uint64 {
	var bits uint64
	for i := range words {
		w := words[i]
		if o == CDAB || o == DCBA {
			w = words[len(words)-1-i]
		}
		if len(words) > 1 && (o == BADC || o == DCBA) {
			w = w<<8 | w>>8
		}
		bits = bits<<16 | uint64(w)
	}
	return bits
}

// wordsOf is the inverse of bitsOf.
func wordsOf(bits uint64, n int, o Order) []uint16 {
	words := make([]uint16, n)
	for i := range words {
		w := uint16(bits >> (16 * (n - 1 - i)))
		if n > 1 && (o == BADC || o == DCBA) {
			w = w<<8 | w>>8
		}
		at := i
		if o == CDAB || o == DCBA {
			at = n - 1 - i
		}
		words[at] = w
	}
	return words
}

// numberOf reads bits as the type says.
func numberOf(bits uint64, t Type) float64 {
	switch t {
	case S16:
		return float64(int16(bits))
	case S32:
		return float64(int32(bits))
	case S64:
		return float64(int64(bits))
	case F32:
		return float64(math.Float32frombits(uint32(bits)))
	case F64:
		return math.Float64frombits(bits)
	}
	return float64(bits)
}

// Raw is a raw value that means 'not available', as its bits for an integer
// and as the bits of the float64 for a float.
type Raw uint64

func (p *Point) isAbsent(bits uint64) bool {
	if p.Type.float() {
		x := numberOf(bits, p.Type)
		for _, a := range p.Absent {
			if x == math.Float64frombits(uint64(a)) {
				return true
			}
		}
		return false
	}
	for _, a := range p.Absent {
		if bits == uint64(a) {
			return true
		}
	}
	return false
}

// textOf reads bytes, two a register, up to the first NUL, without blanks
// round them; what can't be printed shows as '?'.
func textOf(words []uint16) string {
	var b strings.Builder
	for _, w := range words {
		for _, c := range [...]byte{byte(w >> 8), byte(w)} {
			if c == 0 {
				return strings.TrimSpace(b.String())
			}
			if c > unicode.MaxASCII || !unicode.IsPrint(rune(c)) {
				c = '?'
			}
			b.WriteByte(c)
		}
	}
	return strings.TrimSpace(b.String())
}
