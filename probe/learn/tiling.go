package learn

import (
	"math"
	"slices"

	"legwork/probe/learn/image"
	"legwork/probe/regmap"
)

// A run of registers is a row of cells: short ones of one register, long ones of
// two whose high half comes first or last, short ones with a gap after each, and
// gaps. Cells of a kind follow each other. How likely the registers of a block are
// so, with some cells known, is summed over all rows (the forward pass of a hidden
// Markov model: Rabiner, "A tutorial on hidden Markov models", Proc. IEEE 77 (1989),
// equations 19 to 21).

type cellKind int

const (
	shortCell cellKind = iota
	highFirstCell
	highLastCell
	spacedCell
	spacedHighFirstCell
	spacedHighLastCell
	gapCell
	cellKinds
)

// size is how many registers a cell takes.
func (k cellKind) size() int {
	switch k {
	case shortCell, gapCell:
		return 1
	case spacedHighFirstCell, spacedHighLastCell:
		return 4
	}
	return 2
}

// cell is where a value stands.
type cell struct {
	table regmap.Table
	at    int
	kind  cellKind
}

// cellOf is where a series of a group stands if it is long in an order, or short,
// with gaps or without.
func cellOf(g *group, s *series, long bool, o regmap.Order, gaps bool) cell {
	switch {
	case !long && gaps && g.spaced(1):
		return cell{s.block.Table, s.at, spacedCell}
	case !long:
		return cell{s.block.Table, s.at, shortCell}
	}
	kind, at := highLastCell, s.at
	if highFirst(o) {
		kind = highFirstCell
		if s.size() == 1 {
			at--
		}
	}
	if gaps && g.spaced(2) {
		kind += spacedHighFirstCell - highFirstCell
	}
	return cell{s.block.Table, at, kind}
}

// spaced reports a group whose values, of so many registers, can have gaps as long
// as they are between them.
func (g *group) spaced(size int) bool { return len(g.of) > 1 && g.stride == 2*size }

// Chances of rows of cells. Our choice, no source.
var (
	logSame    = math.Log(0.8) // the next cell is of the same kind
	logOther   = math.Log(0.06)
	logTurned  = math.Log(0.002) // long, with the high half at the other end
	logGap     = math.Log(0.06)  // a gap follows
	logGoesOn  = math.Log(0.6)   // it goes on
	logEnds    = math.Log(0.08)  // a cell of one kind follows it
	logEnded   = math.Log(0.4)   // or of any kind
	logNothing = math.Log(0.06)  // a value is zero
	logValue   = math.Log(0.94)
	logBlank   = math.Log(0.03) // a gap holds another number than others do
	logBegins  = math.Log(0.03) // a block begins with a gap
)

// row is a block as a row of cells, some of which are known.
type row []cellKind

const (
	freeCell   cellKind = -1
	insideCell cellKind = -2
)

// rowOf lays the known cells into a block: false where two of them overlap. known
// reports that there are any.
func rowOf(b *image.Block, cells []cell) (r row, known, ok bool) {
	r = slices.Repeat(row{freeCell}, len(b.Rounds[0]))
	for _, c := range cells {
		at, size := c.at-b.At, c.kind.size()
		if c.table != b.Table || at+size <= 0 || at >= len(r) {
			continue
		}
		if at < 0 || at+size > len(r) || r.taken(at, at+size) {
			return nil, true, false
		}
		r[at], known = c.kind, true
		for i := 1; i < size; i++ {
			r[at+i] = insideCell
		}
	}
	return r, known, true
}

// taken reports known cells between two places.
func (r row) taken(from, to int) bool {
	return slices.ContainsFunc(r[from:to], func(k cellKind) bool { return k != freeCell })
}

// holds reports that a cell can be between two places.
func (r row) holds(k cellKind, from, to int) bool {
	return r[from] == k || r[from] == freeCell && !r.taken(from, to)
}

// record is the first of those that channels have, each of its own: where it ends in
// its block, and where what follows the last one begins.
type record struct {
	table      regmap.Table
	end, after int // 0 where there are none
}

// recordOf finds it by the groups that are the farthest apart. With high halves first it
// begins, and so ends, one register before the low half of its first value.
func recordOf(of [classes][]*group, o regmap.Order) record {
	var r record
	before := 0
	if highFirst(o) {
		before = 1
	}
	for _, groups := range of {
		for _, g := range groups {
			low := g.of[0].at
			if g.typ == regmap.S32 && highFirst(g.order) {
				low++ // as where it is taken for short
			}
			if end := low + g.stride - before; len(g.of) > 1 && g.stride > byQuantity && (r.end == 0 || end < r.end) {
				r = record{g.table, end, end + (len(g.of)-1)*g.stride}
			}
		}
	}
	return r
}

// holds reports a group that has a value in every record.
func (r record) holds(g *group) bool { return r.end > 0 && len(g.of) > 1 && g.stride > byQuantity }

// within is where the record ends in a block and where what follows begins.
func (r record) within(b *image.Block) (end, begin int) {
	end, begin, n := r.end-b.At, r.after-b.At, len(b.Rounds[0])
	if r.end == 0 || r.table != b.Table || end <= 0 || end >= n {
		return n, n
	}
	return end, min(begin, n)
}

// logTiling is the logarithm of how likely block i is with known cells, false where
// they overlap. first says which order the other long cells would rather have.
func (l *library) logTiling(i int, cells []cell, first bool, rec record) (float64, bool) {
	b := &l.im.Blocks[i]
	if len(b.Rounds) == 0 {
		return 0, true
	}
	if l.looks == nil {
		l.looks = map[int]wordLooks{}
		l.loose = map[spot][2]float64{}
	}
	if l.looks[i] == nil {
		l.looks[i] = wordsOf(b)
	}
	r, known, ok := rowOf(b, cells)
	switch {
	case !ok:
		return 0, false
	case !known:
		return l.logLoose(i, 0, first), true
	}
	end, begin := rec.within(b)
	x := logRow(l.looks[i], r[:end], first) + l.logLoose(i, begin, first)
	return x, !math.IsInf(x, -1)
}

// spot is a register of a block.
type spot struct{ block, from int }

// logLoose is that of a block from some register on in which nothing is known.
func (l *library) logLoose(i, from int, first bool) float64 {
	words := l.looks[i][from:]
	if len(words) == 0 {
		return 0
	}
	at := spot{i, from}
	both, is := l.loose[at]
	if !is {
		free := slices.Repeat(row{freeCell}, len(words))
		own, other := logRow(words, free, true), logRow(words, free, false)
		both = [2]float64{logMix(own, other), logMix(other, own)}
		l.loose[at] = both
	}
	if first {
		return both[0]
	}
	return both[1]
}

// logMix allows that a block apart has another order than the meter's.
func logMix(own, other float64) float64 {
	return logSum(math.Log(0.9)+own, math.Log(0.1)+other)
}

// logRow sums over all rows of cells.
func logRow(words wordLooks, r row, first bool) float64 {
	logs := make([][cellKinds]float64, len(r)+1)
	for k := range cellKinds {
		logs[0][k] = -math.Log(float64(cellKinds))
	}
	for to := 1; to <= len(r); to++ {
		for k := range cellKinds {
			from := to - k.size()
			logs[to][k] = math.Inf(-1)
			if from < 0 || !r.holds(k, from, to) {
				continue
			}
			is := words.logCell(from, k, first)
			if math.IsInf(is, -1) {
				continue
			}
			for before := range cellKinds {
				follows := logFollows(before, k)
				if r[from] == k { // it is known already, whatever came before
					follows = logKnown(before)
				}
				logs[to][k] = logSum(logs[to][k], logs[from][before]+follows)
			}
			if logs[to][k] += is; from == 0 && k == gapCell {
				logs[to][k] += logBegins
			}
		}
	}
	sum := math.Inf(-1)
	for _, x := range logs[len(r)] {
		sum = logSum(sum, x)
	}
	return sum
}

// logFollows is how likely a cell of kind k comes after another.
func logFollows(before, k cellKind) float64 {
	switch {
	case before == gapCell && k == gapCell:
		return logGoesOn
	case before == gapCell:
		return logEnds
	case k == gapCell:
		return logGap
	case before == k:
		return logSame
	case before == highFirstCell && k == highLastCell || before == highLastCell && k == highFirstCell:
		return logTurned
	}
	return logOther
}

// logKnown is the same for a cell whose kind is known.
func logKnown(before cellKind) float64 {
	if before == gapCell {
		return logEnded
	}
	return logSame
}

// logSum is the logarithm of the sum of what a and b are the logarithms of.
func logSum(a, b float64) float64 {
	if a < b {
		a, b = b, a
	}
	if math.IsInf(b, -1) {
		return a
	}
	return a + math.Log1p(math.Exp(b-a))
}
