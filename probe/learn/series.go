package learn

import (
	"math"
	"slices"

	"legwork/probe/learn/image"
	"legwork/probe/regmap"
)

// form is a way in which registers may be read.
type form struct {
	typ   regmap.Type
	order regmap.Order
}

// swapped16 is no type of a register: it is the low half of a 32-bit integer
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

// extended reports that the word at an offset extends the sign in every round.
func (s *series) extended(offset int) bool {
	for r, words := range s.block.Rounds {
		if offset < 0 || offset >= len(words) {
			return false
		}
		if w := words[offset]; w != 0 && (w != 0xFFFF || s.x[r] >= 0) {
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

// shelf holds the series of all places in one form.
type shelf map[place]*series

type place struct {
	table regmap.Table
	at    int
}

// library holds them in all forms.
type library struct {
	im      *image.Image
	rounds  int
	shelves map[form]shelf
	sorted  map[form][]place

	measured []Measured
}

func read(im *image.Image) *library {
	l := &library{im: im, shelves: map[form]shelf{}, sorted: map[form][]place{}}
	for _, f := range forms() {
		of := shelf{}
		for i := range im.Blocks {
			b := &im.Blocks[i]
			if len(b.Rounds) == 0 {
				continue
			}
			l.rounds = len(b.Rounds)
			for at := 0; at+f.size() <= len(b.Rounds[0]); at++ {
				if s := readAs(b, at, f); s != nil && s.possible(at) {
					of[place{b.Table, s.at}] = s
				}
			}
		}
		l.shelves[f] = of
	}
	l.dropTwins(regmap.ABCD, regmap.CDAB)
	l.dropTwins(regmap.BADC, regmap.DCBA)
	l.dropHalves()
	return l
}

// evident reports a float that shows by itself: of a size that a meter gives,
// with a low half that is anywhere each time.
func (l *library) evident(p place, o regmap.Order) bool {
	s := l.shelves[form{regmap.F32, o}][p]
	return s != nil && s.moves() && s.most() > 1e-3 && s.most() < 1e8 && !s.wild() && l.restless(p, o) && !s.small()
}

// small reports bits that are rather an integer with its bytes exchanged, of
// which the high half is below 256.
func (s *series) small() bool {
	return !slices.ContainsFunc(s.x, func(x float64) bool { return math.Float32bits(float32(x))>>16&0xFF != 0 })
}

// dropTwins takes the floats of one order from a block where they are those of
// the other, read one register off: the high half right, and the low half of a
// neighbour. What is right reads all that stands round it.
func (l *library) dropTwins(high, low regmap.Order) {
	for i := range l.im.Blocks {
		b := &l.im.Blocks[i]
		if len(b.Rounds) == 0 {
			continue
		}
		rather, edge := 0, 0 // above zero for the order with the high half first
		for at := b.At; at < b.At+len(b.Rounds[0])-1; at++ {
			p, twin := place{b.Table, at}, place{b.Table, at + 1} // low half, high half
			if !l.evident(p, low) || !l.evident(twin, high) {
				continue
			}
			edge += 1 - 2*((at-b.At)%2)
			for d := -10; d <= 10; d += 2 {
				rather += l.readable(b, at+1+d, high) - l.readable(b, at+d, low)
			}
		}
		if rather == 0 {
			rather = -edge // a block begins with a whole value
		}
		loser := low
		switch {
		case rather == 0:
			continue
		case rather < 0:
			loser = high
		}
		for at := b.At; at < b.At+len(b.Rounds[0]); at++ {
			delete(l.shelves[form{regmap.F32, loser}], place{b.Table, at})
		}
		delete(l.sorted, form{regmap.F32, loser})
	}
}

// readable is 1 for a float that could be one, -1 for one that couldn't or is
// cut off by the end of the block, 0 beyond.
func (l *library) readable(b *image.Block, at int, o regmap.Order) int {
	n := len(b.Rounds[0])
	switch {
	case at < b.At-1 || at >= b.At+n:
		return 0
	case l.shelves[form{regmap.F32, o}][place{b.Table, at}] != nil:
		return 1
	}
	return -1
}

// dropHalves takes the halves of floats from the shelves of integers.
func (l *library) dropHalves() {
	half := map[place]bool{}
	for _, o := range orders {
		for _, p := range l.places(form{regmap.F32, o}) {
			if !l.evident(p, o) {
				continue
			}
			alike := 0
			for d := -12; d <= 12; d += 2 {
				if l.evident(place{p.table, p.at + d}, o) {
					alike++
				}
			}
			if alike >= 3 {
				half[p], half[place{p.table, p.at + 1}] = true, true
			}
		}
	}
	for f, shelf := range l.shelves {
		if f.float() {
			continue
		}
		for p := range shelf {
			if half[p] || f.size() == 2 && half[place{p.table, p.at + 1}] {
				delete(shelf, p)
			}
		}
		delete(l.sorted, f)
	}
}

// restless reports that the low half of a float jumps about.
func (l *library) restless(p place, o regmap.Order) bool {
	at := p.at
	if highFirst(o) {
		at++
	}
	x := l.word(p.table, at)
	far := 0
	for r := 1; r < len(x); r++ {
		if math.Abs(x[r]-x[r-1]) > 800 {
			far++
		}
	}
	return 2*far >= len(x)
}

// word gives the words of a place, a round each; nil where it wasn't read, or is
// half of a float.
func (l *library) word(t regmap.Table, at int) []float64 {
	if s := l.shelves[form{regmap.U16, regmap.ABCD}][place{t, at}]; s != nil {
		return s.x
	}
	return nil
}
