package learn

import (
	"math"
	"slices"
)

// A meter may give its currents on the secondary side of its CTs and its powers on the
// primary side. Then V I is the apparent power but for the ratio of the CTs, on every
// channel; a scale that is a power of ten reads amperes that are none.

// What the same ratio on three channels is, and how unlike their factors must be that
// nothing else makes it. Our choice, no source.
const (
	sameRatio    = 0.0015
	coarsest     = 0.005 // of steps, beside which a ratio is told
	unlikeShares = 0.02
	plainRatio   = 1.02 // from one, and as near below ten: distortion makes it less than one
	belowTen     = 9.3
)

// ratio is the apparent power over V I where it is one number on three channels that is
// no power of ten, from 1 to 10; 0 where no registers tie so.
func (e *explanation) ratio() float64 {
	if e.s != nil || e.q != nil || e.pf != nil || len(e.mid) < 3 || spread(e.mid) < unlikeShares {
		return 0 // it ties otherwise, or two channels do by chance, as those of a delta
	}
	for _, o := range e.rivals {
		if o == e || overlap(o.p, e.p) || !alongside(o.p, e.p) {
			continue
		}
		for _, active := range []bool{true, false} { // P2 + Q2 = S2, or S itself
			if x := e.ratioTo(o, active); x > plainRatio && x < belowTen {
				return x
			}
		}
	}
	return 0
}

// ratioTo is the ratio by one other group, 0 where the channels don't have it in common.
func (e *explanation) ratioTo(o *explanation, active bool) float64 {
	var all []float64
	fuzz := 0.
	for k, share := range e.share {
		if share == nil || o.share[k] == nil {
			return 0
		}
		if fuzz = math.Max(fuzz, e.fuzz[k]+o.fuzz[k]); fuzz > coarsest {
			return 0
		}
		one := make([]float64, len(share))
		for r, p := range share {
			if one[r] = math.Abs(o.share[k][r]) * math.Pow10(o.ten-e.ten); active {
				one[r] = math.Hypot(p, one[r])
			}
		}
		if spread(one) > 4*(fuzz+sameRatio) {
			return 0
		}
		all = append(all, median(one))
	}
	if spread(all) > 2*fuzz+sameRatio {
		return 0
	}
	mean := median(all)
	return mean / math.Pow10(int(math.Floor(math.Log10(mean))))
}

// spread is how far apart numbers are, against the largest size.
func spread(x []float64) float64 {
	low, high := slices.Min(x), slices.Max(x)
	size := math.Max(math.Abs(low), math.Abs(high))
	if size == 0 {
		return 0
	}
	return (high - low) / size
}
