package learn

import (
	"math"
	"slices"

	"legwork/probe/reading"
)

// Means and totals stand where a channel could.

// rests reports that the last channel rests on the ones before: its voltage is
// theirs to the last digit, or its current their mean, or its power their sum.
func (e *explanation) rests() bool {
	n := len(e.v.of)
	if n > 1 && e.v.fine() && isMean(e.v.group, e.v.of[n-1]) {
		return true
	}
	return n == 3 && (e.i.fine() && isMean(e.i, e.i.of[2]) || e.p.fine() && isSum(e.p, e.p.of[2]))
}

// takesMean reports that an end of a group is the mean of a row that goes on beyond the
// other end: of three or four in a row one is no channel.
func (l *library) takesMean(g *group) bool {
	n := len(g.of)
	if n < 2 || g.stride > byQuantity || !g.fine() {
		return false
	}
	for more := 1; n+more <= reading.MaxChannels+1; more++ {
		for _, row := range []*group{
			l.gather(g.form, place{g.table, g.at}, g.stride, n+more),
			l.gather(g.form, place{g.table, g.at - more*g.stride}, g.stride, n+more).turnedRound(),
		} {
			if row == nil {
				continue
			}
			last := len(row.of) - 1
			if isMean(row.turnedRound(), row.of[0]) && !isMean(row, row.of[last]) {
				return true
			}
		}
	}
	return false
}

// turnedRound is the group with its channels in the other order.
func (g *group) turnedRound() *group {
	if g == nil {
		return nil
	}
	out := *g
	out.of = slices.Clone(g.of)
	slices.Reverse(out.of)
	return &out
}

// fine reports a group whose steps are small beside its values.
func (g *group) fine() bool {
	for _, s := range g.of {
		if s.moves() && s.grain() < 5e-4*s.most() {
			return true
		}
	}
	return false
}

// isSum and isMean hold a series against the other channels of its group, in
// every round.
func isSum(g *group, last *series) bool { return isShare(g, last, 1) }

func isMean(g *group, last *series) bool { return isShare(g, last, 1/float64(len(g.of)-1)) }

func isShare(g *group, last *series, share float64) bool {
	fits, moves := shareFits(g, last, share)
	return fits && moves
}

// shareFits reports a series that is no other than that share, and whether it moves.
func shareFits(g *group, last *series, share float64) (fits, moves bool) {
	grain := last.grain()
	for r, x := range last.x {
		sum, size := 0., math.Abs(x)
		for _, s := range g.of[:len(g.of)-1] {
			sum += share * s.x[r]
			size = math.Max(size, math.Abs(s.x[r]))
		}
		if math.Abs(x-sum) > 1.6*grain+1e-6*size {
			return false, moves
		}
		moves = moves || math.Abs(x-last.x[0]) > 2*grain+1e-6*size
	}
	return true, moves
}

// grain is the power of ten of which all values are multiples: they may be rounded
// more than their register needs.
func (s *series) grain() float64 {
	if s.float() {
		return s.step
	}
	grain := 1.
	for ; grain < 1e4; grain *= 10 {
		if slices.ContainsFunc(s.x, func(x float64) bool { return math.Mod(x, 10*grain) != 0 }) {
			break
		}
	}
	return grain
}
