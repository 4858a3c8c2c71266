package phasetest

import "slices"

// tally counts, for every mapping in every world, the readings that it can't explain.
type tally struct {
	t        Test
	mappings []mapping
	worlds   []world
	misses   [][]int // by mapping, then by world
}

func (t Test) tally(readings []Reading) *tally {
	y := &tally{t: t, mappings: t.mappings(), worlds: t.worlds()}
	y.misses = make([][]int, len(y.mappings))
	for i := range y.misses {
		y.misses[i] = make([]int, len(y.worlds))
	}
	for _, r := range readings {
		y.count(r, 1)
	}
	return y
}

// count adds a reading, or with -1 takes it out. What a mapping says of a
// reading hangs on the poles that it touches alone.
func (y *tally) count(r Reading, by int) {
	for j := range y.worlds {
		fits := y.table(r, &y.worlds[j])
		for i, m := range y.mappings {
			e := m.ends(r.Pair)
			if !fits[e.from-elsewhere][e.to-elsewhere] {
				y.misses[i][j] += by
			}
		}
	}
}

// table says which states of the two ends explain a reading; states count from
// elsewhere, the lowest.
func (y *tally) table(r Reading, w *world) (fits [5][5]bool) {
	for _, from := range y.t.statesAt(r.Pair.From) {
		for _, to := range y.t.statesAt(r.Pair.To) {
			fits[from-elsewhere][to-elsewhere] = y.t.explains(r, endStates{from, to}, w)
		}
	}
	return fits
}

// cost is how many readings would have to be wrong under mapping i, in the
// world that suits it best.
func (y *tally) cost(i int) int { return slices.Min(y.misses[i]) }

// bestWorld is the world that suits mapping i best.
func (y *tally) bestWorld(i int) *world {
	return &y.worlds[slices.Index(y.misses[i], y.cost(i))]
}

// left is what the readings leave open, where the cost of a mapping is the number
// of readings that would have to be wrong under it.
type left struct {
	best int   // the fewest readings that would have to be wrong
	near int   // mappings for which at most one more than the fewest would
	open []int // mappings that explain all but at most one, the best first; where none does, those of the fewest
}

// oneWrong is how many readings may be wrong without misleading anyone. Our choice:
// a slip is likely, two in one test are not.
const oneWrong = 1

func (y *tally) left() left {
	l := left{best: len(y.mappings) + 1<<20}
	for i := range y.mappings {
		l.best = min(l.best, y.cost(i))
	}
	for i := range y.mappings {
		if y.cost(i) <= max(oneWrong, l.best) {
			l.open = append(l.open, i)
		}
		if y.cost(i) <= l.best+oneWrong {
			l.near++
		}
	}
	slices.SortStableFunc(l.open, func(a, b int) int { return y.cost(a) - y.cost(b) })
	return l
}

// single reports that one mapping explains every reading and no other
// explains all but one.
func (l left) single() bool { return l.best == 0 && len(l.open) == 1 }

// wrong lists the readings that would have to be wrong under mapping i.
func (y *tally) wrong(i int, readings []Reading) []Reading {
	w := y.bestWorld(i)
	var all []Reading
	for _, r := range readings {
		if !y.t.explains(r, y.mappings[i].ends(r.Pair), w) {
			all = append(all, r)
		}
	}
	return all
}

// never reports a reading that no mapping explains.
func (y *tally) never(r Reading) bool {
	for j := range y.worlds {
		if y.table(r, &y.worlds[j]) != [5][5]bool{} {
			return false
		}
	}
	return true
}

// unchecked lists the poles that mapping i puts on a leg though the tap itself
// was not read at its nominal voltage: a dead tap reads about 0 V to everything.
func (y *tally) unchecked(i int, readings []Reading) []int {
	var poles []int
	if y.t.Dead {
		return nil
	}
	for k, s := range y.mappings[i] {
		if s != deadPole && !y.live(i, k+1, readings) {
			poles = append(poles, k+1)
		}
	}
	return poles
}

// live reports whether a pole reads nominal to the neutral, or where there is
// none line voltage to another leg.
func (y *tally) live(i, pole int, readings []Reading) bool {
	if y.mappings[i][pole-1] == deadPole {
		return false
	}
	w := y.bestWorld(i)
	for _, r := range readings {
		if !r.Pair.touches(pole) || !y.t.explains(r, y.mappings[i].ends(r.Pair), w) {
			continue
		}
		if r.Pair.To.Kind == Neutral || !hasNeutral(y.t.Service) && r.Volts > y.t.zeroBelow() {
			return true
		}
	}
	return false
}
