package learn

import (
	"math"

	"legwork/probe/learn/image"
	"legwork/probe/regmap"
)

func read(im *image.Image) *library {
	l := &library{im: im, shelves: map[form]*shelf{}, sorted: map[form][]place{}, listed: map[form][]*series{}}
	for _, f := range forms() {
		of := &shelf{}
		for i := range im.Blocks {
			b := &im.Blocks[i]
			if len(b.Rounds) == 0 {
				continue
			}
			l.rounds = len(b.Rounds)
			for at := 0; at+f.size() <= len(b.Rounds[0]); at++ {
				if s := readAs(b, at, f); s != nil && s.possible(at) {
					of.put(place{b.Table, s.at}, s)
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
		for at := b.At - 1; at < b.At+len(b.Rounds[0]); at++ {
			p, twin := place{b.Table, at}, place{b.Table, at + 1} // low half, high half
			is, other := l.evident(twin, high), l.evident(p, low)
			switch {
			case is && !other:
				rather += 8 // what stands alone, or first
			case other && !is:
				rather -= 8
			}
			if !is || !other {
				continue
			}
			edge += 1 - 2*((at-b.At)%2)
			for d := -10; d <= 10; d += 2 {
				rather += l.readable(b, at+1+d, high) - l.readable(b, at+d, low)
			}
		}
		rather += 6 * (l.rounded(b, high) - l.rounded(b, low))
		if rather == 0 {
			rather = -edge // a block begins with a whole value
		}
		loser := low
		switch {
		case rather == 0, rather*edge > 0 && max(rather, -rather) < clearly:
			continue // ties will tell
		case rather < 0:
			loser = high
		}
		for at := b.At; at < b.At+len(b.Rounds[0]); at++ {
			l.shelves[form{regmap.F32, loser}].put(place{b.Table, at}, nil)
		}
		delete(l.sorted, form{regmap.F32, loser})
	}
}

// clearly is from where the floats of a block tell their order, though the block
// would begin with half a value.
const clearly = 60

// rounded counts the floats of a block that have few decimals, less those that have
// many: with the low half of a neighbour most have. It is 0 where none are rounded.
func (l *library) rounded(b *image.Block, o regmap.Order) int {
	few, many := 0, 0
	for at := b.At; at < b.At+len(b.Rounds[0])-1; at++ {
		s := l.shelves[form{regmap.F32, o}].at(place{b.Table, at})
		switch {
		case s == nil || !s.moves() || s.most() < 1e-3 || s.most() > 1e8:
		case s.step > 0:
			few++
		default:
			many++
		}
	}
	if few < 3 {
		return 0
	}
	return few - many
}

// readable is 1 for a float that could be one, -1 for one that couldn't or is
// cut off by the end of the block, 0 beyond.
func (l *library) readable(b *image.Block, at int, o regmap.Order) int {
	n := len(b.Rounds[0])
	switch {
	case at < b.At-1 || at >= b.At+n:
		return 0
	case l.shelves[form{regmap.F32, o}].at(place{b.Table, at}) != nil:
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
		for _, p := range shelf.places() {
			if half[p] || f.size() == 2 && half[place{p.table, p.at + 1}] {
				shelf.put(p, nil)
			}
		}
		delete(l.sorted, f)
	}
}

// evident reports a float that shows by itself: of a size that a meter gives,
// with a low half that is anywhere each time.
func (l *library) evident(p place, o regmap.Order) bool {
	s := l.shelves[form{regmap.F32, o}].at(p)
	return s != nil && s.moves() && s.most() > 1e-3 && s.most() < 1e8 && !s.wild() && l.restless(p, o) && !s.small()
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
