package learn

import (
	"math"

	"legwork/probe/regmap"
)

// form is a way in which registers may be read.
type form struct {
	typ   regmap.Type
	order regmap.Order
}

// These are no types of registers: each is the low half of a 32-bit integer
// whose bytes are exchanged, where the high half only extends the sign.
const (
	swappedU16 regmap.Type = "u16 with bytes exchanged"
	swappedS16 regmap.Type = "s16 with bytes exchanged"
)

func (f form) float() bool { return f.typ == regmap.F32 }

// size is how many registers the form takes.
func (f form) size() int {
	if f.typ == regmap.S32 || f.typ == regmap.F32 {
		return 2
	}
	return 1
}

// signed reports whether the form can be below zero.
func (f form) signed() bool { return f.typ != regmap.U16 && f.typ != swappedU16 }

func bytesExchanged(o regmap.Order) bool { return o == regmap.BADC || o == regmap.DCBA }

// exchanged reports an integer of two words with the bytes of each exchanged.
func (f form) exchanged() bool {
	return f.typ == swappedU16 || f.typ == swappedS16 || f.typ == regmap.S32 && bytesExchanged(f.order)
}

// highFirst reports whether the high word of an order stands first.
func highFirst(o regmap.Order) bool { return o == regmap.ABCD || o == regmap.BADC }

var orders = [...]regmap.Order{regmap.ABCD, regmap.CDAB, regmap.BADC, regmap.DCBA}

// forms lists all of them.
func forms() []form {
	all := []form{{regmap.U16, regmap.ABCD}, {regmap.S16, regmap.ABCD}, {swappedU16, regmap.BADC},
		{swappedS16, regmap.BADC}}
	for _, o := range orders {
		all = append(all, form{regmap.S32, o}, form{regmap.F32, o})
	}
	return all
}

// value reads words; same reports that the high half of a 32-bit integer is
// only the sign of the low one.
func (f form) value(words []uint16) (x float64, same bool) {
	switch f.typ {
	case regmap.U16:
		return float64(words[0]), true
	case regmap.S16:
		return float64(int16(words[0])), true
	case swappedU16:
		return float64(exchanged(words[0])), true
	case swappedS16:
		return float64(int16(exchanged(words[0]))), true
	}
	high, low := words[0], words[1]
	if !highFirst(f.order) {
		high, low = low, high
	}
	if bytesExchanged(f.order) {
		high, low = exchanged(high), exchanged(low)
	}
	bits := uint32(high)<<16 | uint32(low)
	if f.typ == regmap.F32 {
		x := float64(math.Float32frombits(bits))
		if math.IsNaN(x) {
			x = math.Inf(1)
		}
		return x, false
	}
	return float64(int32(bits)), high == 0 || high == 0xFFFF && low >= 0x8000
}

func exchanged(w uint16) uint16 { return w<<8 | w>>8 }
